import {existsSync, readFileSync} from "node:fs";
import {beforeAll, describe, expect, it} from "vitest";
import {makeField} from "../../src/geo/field.ts";
import {frameAt, toLonLat, toPlane} from "../../src/geo/frame.ts";
import {geodesicAreaM2, geodesicDistanceM} from "../../src/geo/geodesic.ts";
import {loadGeos} from "../../src/geo/geos.ts";
import {areaM2} from "../../src/geo/measure.ts";
import type {LonLat, LonLatMultiPolygon} from "../../src/geo/shapes.ts";

beforeAll(loadGeos);

/** A rectangle in degrees about a centre. */
function rectangle(lon: number, lat: number, width: number, height: number): LonLat[] {
  return [
    [lon - width / 2, lat - height / 2],
    [lon + width / 2, lat - height / 2],
    [lon + width / 2, lat + height / 2],
    [lon - width / 2, lat + height / 2],
    [lon - width / 2, lat - height / 2],
  ];
}

describe("a field's frame", () => {
  it("ties flat acres to geodesic acres within 1e-6, from a garden to 10 km across, at any latitude", () => {
    for (const lat of [-35, 0, 25, 40.55, 60]) {
      for (const size of [0.0005, 0.01, 0.09]) {
        const {field} = makeField("f", "F", [[rectangle(-86.4, lat, size, size)]]);
        expect(Math.abs(areaM2(field.outline) / field.area - 1)).toBeLessThan(1e-6);
      }
    }
  });

  it("comes back to the same place within a tenth of a millimetre", () => {
    const frame = frameAt(-86.4, 40.55);
    for (const [dx, dy] of [
      [0, 0],
      [1000, -700],
      [-4000, 4000],
    ] as const) {
      const [lon, lat] = toLonLat(frame, {x: dx, y: dy});
      const back = toPlane(frame, [lon, lat]);
      expect(Math.hypot(back.x - dx, back.y - dy)).toBeLessThan(1e-4);
    }
  });

  it("keeps distances: a kilometre east is a kilometre on the ellipsoid", () => {
    const frame = frameAt(-86.4, 40.55);
    const distance = geodesicDistanceM(toLonLat(frame, {x: 0, y: 0}), toLonLat(frame, {x: 1000, y: 0}));
    // Scale error at 1 km is 1.2e-8, so 0.02 mm.
    expect(distance).toBeCloseTo(1000, 4);
  });
});

describe("the boundary of a field", () => {
  it("keeps holes and parts", () => {
    const shape: LonLatMultiPolygon = [
      [rectangle(-86.4, 40.55, 0.01, 0.01), rectangle(-86.4, 40.55, 0.002, 0.002).reverse()],
      [rectangle(-86.38, 40.55, 0.01, 0.01)],
    ];
    const {field} = makeField("f", "F", shape);
    expect(field.boundary.map((polygon) => polygon.length)).toEqual([2, 1]);
    const [outer, hole] = [0.01, 0.002].map((s) => geodesicAreaM2([[rectangle(-86.4, 40.55, s, s)]])) as [
      number,
      number,
    ];
    expect(field.area).toBeCloseTo(2 * outer - hole, 2);
  });

  it("is wound counter-clockwise outside and clockwise in holes, whatever the file did", () => {
    const {field} = makeField("f", "F", [
      [rectangle(-86.4, 40.55, 0.01, 0.01).reverse(), rectangle(-86.4, 40.55, 0.002, 0.002)],
    ]);
    const signed = field.outline[0]?.map((ring) => areaM2([[ring]]) && Math.sign(shoelace(ring)));
    expect(signed).toEqual([1, -1]);
  });

  it("is closed with a remark when its ring is open", () => {
    const {field, issues} = makeField("f", "F", [[rectangle(-86.4, 40.55, 0.01, 0.01).slice(0, -1)]]);
    expect(field.boundary[0]?.[0]).toHaveLength(5);
    expect(issues.map((issue) => issue.code)).toEqual(["boundary/ring-closed"]);
  });

  const bowTie: LonLat[] = [
    [-86.41, 40.54],
    [-86.39, 40.56],
    [-86.39, 40.54],
    [-86.41, 40.56],
    [-86.41, 40.54],
  ];
  const refused: [string, LonLatMultiPolygon, string][] = [
    ["crosses itself", [[bowTie]], "boundary/crosses-itself"],
    ["has latitude and longitude swapped", [[rectangle(40.55, -126.4, 0.01, 0.01)]], "boundary/swapped"],
    ["is in projected metres", [[rectangle(550000, 4490000, 800, 800)]], "boundary/not-degrees"],
    ["is 30 km across", [[rectangle(-86.4, 40.55, 0.36, 0.01)]], "boundary/too-large"],
    ["is a speck", [[rectangle(-86.4, 40.55, 0.00005, 0.00005)]], "boundary/too-small"],
    [
      "has two corners",
      [
        [
          [
            [-86.4, 40.5],
            [-86.3, 40.5],
            [-86.4, 40.5],
          ],
        ],
      ],
      "boundary/too-few-corners",
    ],
    ["has a coordinate that is no number", [[rectangle(Number.NaN, 40.55, 0.01, 0.01)]], "boundary/not-a-number"],
    [
      "crosses the date line",
      [
        [
          [
            [179.9, 40],
            [-179.9, 40],
            [-179.9, 40.1],
            [179.9, 40.1],
            [179.9, 40],
          ],
        ],
      ],
      "boundary/antimeridian",
    ],
    ["is empty", [], "boundary/empty"],
    [
      "has a hole outside its shell",
      [[rectangle(-86.4, 40.55, 0.01, 0.01), rectangle(-86.3, 40.55, 0.001, 0.001)]],
      "boundary/crosses-itself",
    ],
  ];
  it.each(refused)("is refused when it %s", (_, shape, code) => {
    expect(() => makeField("f", "F", shape)).toThrow(expect.objectContaining({name: "FieldError", code}));
  });
});

const reference = new URL("../../../shared/data/geodesy/geodesic_reference.csv", import.meta.url);
describe("geodesic areas and distances", () => {
  it.skipIf(!existsSync(reference))("agree with GeographicLib 2.1.2 (skipped: no shared data)", () => {
    const [header = "", ...lines] = readFileSync(reference, "utf8").trim().split("\n");
    const names = header.split(",");
    const rows = lines.map((line) =>
      Object.fromEntries(line.split(",").map((cell, i) => [names[i] as string, Number(cell)])),
    );
    expect(rows.length).toBeGreaterThan(0);
    for (const row of rows as Record<"lat1" | "lon1" | "lat2" | "lon2" | "s12_m", number>[]) {
      // Both are GeographicLib; the file prints lengths to a nanometre but positions to 1e-14 degree.
      expect(geodesicDistanceM([row.lon1, row.lat1], [row.lon2, row.lat2])).toBeCloseTo(row.s12_m, 5);
    }
  });
});

function shoelace(ring: readonly {x: number; y: number}[]): number {
  let twice = 0;
  for (let i = 0; i + 1 < ring.length; i++) {
    const a = ring[i] as {x: number; y: number};
    const b = ring[i + 1] as {x: number; y: number};
    twice += a.x * b.y - b.x * a.y;
  }
  return twice;
}
