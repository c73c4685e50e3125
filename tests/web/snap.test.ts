import {describe, expect, it} from "vitest";
import {snapTo} from "../../web/map/snap.ts";

// At zoom 16 a degree of longitude is 512 x 65,536 / 360 = 93,207 pixels wide; at the equator one of latitude is as high.
const PIXEL = 360 / (512 * 2 ** 16);
const ZOOM = 16;
const snap = snapTo([
  {
    type: "LineString",
    coordinates: [
      [0, 0],
      [100 * PIXEL, 0],
    ],
  },
  {
    type: "Polygon",
    coordinates: [
      [
        [0, 50 * PIXEL],
        [40 * PIXEL, 50 * PIXEL],
        [40 * PIXEL, 90 * PIXEL],
        [0, 50 * PIXEL],
      ],
    ],
  },
]);

describe("a corner drawn near something", () => {
  it("goes to a corner within twelve pixels, even where a line is nearer", () => {
    expect(snap(8 * PIXEL, 3 * PIXEL, ZOOM)).toEqual([0, 0]);
    expect(snap(43 * PIXEL, 88 * PIXEL, ZOOM)).toEqual([40 * PIXEL, 90 * PIXEL]);
  });

  it("goes to the foot of the perpendicular on a line within nine pixels", () => {
    const [lon = NaN, lat = NaN] = snap(50 * PIXEL, 8 * PIXEL, ZOOM) ?? [];
    expect(lon / PIXEL).toBeCloseTo(50, 6);
    expect(lat / PIXEL).toBeCloseTo(0, 6);
  });

  it("stays where it is farther off, which is less ground the closer one looks", () => {
    expect(snap(50 * PIXEL, 10 * PIXEL, ZOOM)).toBeUndefined();
    expect(snap(50 * PIXEL, 8 * PIXEL, ZOOM + 1)).toBeUndefined();
    expect(snapTo([])(0, 0, ZOOM)).toBeUndefined();
  });
});
