import type {Position} from "geojson";
import {describe, expect, it} from "vitest";
import {redrawBorder} from "../../web/hands/zones/redraw-border.ts";
import type {ZoneShape} from "../../web/hands/zones/zone-shapes.ts";

// Metres east and north of a corner at 40 degrees, by the same lengths of a degree as the code; areas are then those of
// rectangles and triangles.
const UP = 111_320;
const ACROSS = UP * Math.cos((40 * Math.PI) / 180);
const at = ([x, y]: readonly [number, number]): Position => [-86 + x / ACROSS, 40 + y / UP];
const square = (zone: number, west: number, east: number): ZoneShape => ({
  zone,
  label: `Zone ${zone}`,
  acres: 0,
  geometry: {
    type: "MultiPolygon",
    coordinates: [
      [
        (
          [
            [west, 0],
            [east, 0],
            [east, 100],
            [west, 100],
            [west, 0],
          ] as const
        ).map(at),
      ],
    ],
  },
});
/** Two squares of 100 m side by side: zone 1 in the west, zone 2 in the east. */
const ZONES = [square(1, 0, 100), square(2, 100, 200)];
const line = (...points: readonly (readonly [number, number])[]): Position[] => points.map(at);

describe("a border drawn anew", () => {
  it("brings ground in where the line runs outside the zone", () => {
    const moved = redrawBorder(ZONES, 1, line([100, 20], [140, 50], [100, 80]));
    expect(moved).toHaveLength(1);
    const [{polygon, to}] = moved as [{polygon: Position[][]; to: number}];
    expect(to).toBe(1);
    // A triangle on a base of 60 m, 40 m high.
    expect(areaM2(polygon)).toBeCloseTo(1200, 3);
  });

  it("gives ground to the zone across the border where the line runs inside", () => {
    const [{polygon, to}] = redrawBorder(ZONES, 1, line([100, 20], [60, 20], [60, 80], [100, 80])) as [
      {polygon: Position[][]; to: number},
    ];
    expect(to).toBe(2);
    expect(areaM2(polygon)).toBeCloseTo(40 * 60, 3);
  });

  it("tells in from out where the line crosses the border on its way", () => {
    const moved = redrawBorder(ZONES, 1, line([100, 0], [120, 25], [80, 75], [100, 100]));
    expect((moved as {to: number}[]).map(({to}) => to)).toEqual([1, 2]);
    // Each a triangle on half the border, 20 m high.
    for (const {polygon} of moved as {polygon: Position[][]}[]) expect(areaM2(polygon)).toBeCloseTo(500, 0);
  });

  it("leaves out what the line has beyond its meetings with the border", () => {
    const moved = redrawBorder(ZONES, 1, line([80, 20], [140, 20], [140, 80], [80, 80]));
    const [{polygon, to}] = moved as [{polygon: Position[][]; to: number}];
    expect([moved.length, to]).toEqual([1, 1]);
    expect(areaM2(polygon)).toBeCloseTo(40 * 60, 3);
  });

  it("says why nothing moves", () => {
    expect(redrawBorder(ZONES, 1, line([20, 20], [60, 60]))).toMatch(/does not leave the border of zone 1/);
    expect(redrawBorder(ZONES, 1, line([0, 20], [40, 50], [0, 80]))).toMatch(/edge of the field/);
    expect(redrawBorder(ZONES, 1, line([100, 20], [100.5, 50], [100, 80]))).toMatch(/follows the border/);
    expect(redrawBorder(ZONES, 3, line([100, 20], [100, 50]))).toMatch(/no zone 3/);
  });
});

function areaM2([ring = []]: Position[][]): number {
  const flat = ring.map(([lon = 0, lat = 0]) => [(lon + 86) * ACROSS, (lat - 40) * UP] as const);
  return (
    Math.abs(flat.slice(1).reduce((sum, [x, y], i) => sum + ((flat[i]?.[0] ?? 0) * y - x * (flat[i]?.[1] ?? 0)), 0)) / 2
  );
}
