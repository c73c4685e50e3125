import {beforeAll, describe, expect, it} from "vitest";
import {loadGeos} from "../../src/geo/geos.ts";
import {areaM2, contains, distanceM} from "../../src/geo/measure.ts";
import type {MultiPolygon} from "../../src/geo/shapes.ts";
import {planGrid} from "../../src/sampling/by-grid.ts";
import {makeKeepOut, USUAL_DISTANCES} from "../../src/sampling/keep-outs.ts";
import {planWholeField} from "../../src/sampling/whole-field.ts";
import {METRES_PER_FOOT, SQUARE_METRES_PER_ACRE} from "../../src/units/factors.ts";
import {metres} from "../../src/units/quantity.ts";
import {fieldOf, rectangleFt, ringOf} from "./make-field.ts";

beforeAll(loadGeos);

const box = (x: number, y: number, w: number, h: number): MultiPolygon => [
  [ringOf([x, y], [x + w, y], [x + w, y + h], [x, y + h])],
];
/** A round of 32 straight sides holds a little less than the circle: sin(2π/32) · 32 / 2π. */
const OF_CIRCLE = (Math.sin((2 * Math.PI) / 32) * 32) / (2 * Math.PI);

describe("a keep-out", () => {
  it("grows polygons, lines and points by its distance", () => {
    const d = metres(10);
    const corner = Math.PI * 100 * OF_CIRCLE;
    expect(areaM2(makeKeepOut("yard", {polygons: box(0, 0, 50, 20)}, d).shape)).toBeCloseTo(
      50 * 20 + 2 * 70 * 10 + corner,
      6,
    );
    expect(
      areaM2(
        makeKeepOut(
          "road",
          {
            lines: [
              [
                {x: 0, y: 0},
                {x: 100, y: 0},
              ],
            ],
          },
          d,
        ).shape,
      ),
    ).toBeCloseTo(2000 + corner, 6);
    expect(areaM2(makeKeepOut("inlet", {points: [{x: 7, y: 7}]}, d).shape)).toBeCloseTo(corner, 6);
    expect(areaM2(makeKeepOut("yard", {polygons: box(0, 0, 50, 20)}, metres(0)).shape)).toBe(1000);
  });

  it("counts ground under two of its shapes once", () => {
    const twice = makeKeepOut("yards", {polygons: [...box(0, 0, 50, 20), ...box(25, 0, 50, 20)]}, metres(0));
    expect(areaM2(twice.shape)).toBeCloseTo(75 * 20, 9);
  });

  it("of nothing, or of a line without a distance, is refused", () => {
    for (const drawn of [
      {},
      {
        lines: [
          [
            {x: 0, y: 0},
            {x: 1, y: 0},
          ],
        ],
      },
      {points: [{x: 0, y: 0}]},
    ]) {
      expect(() => makeKeepOut("x", drawn, metres(0))).toThrow(expect.objectContaining({code: "sampling/keep-out"}));
    }
  });

  it("has usual distances with their source: 150 ft from a gravel road (University of Missouri)", () => {
    expect(USUAL_DISTANCES["gravel road"].distance / METRES_PER_FOOT).toBeCloseTo(150, 9);
    for (const {source} of Object.values(USUAL_DISTANCES)) expect(source.length).toBeGreaterThan(20);
  });
});

describe("keep-outs in a plan", () => {
  const field = fieldOf(rectangleFt(1320, 1320), "Forty");

  it("take room for cores and never an acre: 2 ac of road in one of four cells", () => {
    // A yard of 200 by 435.6 ft (2 ac) inside the south-west cell of four of 10 ac.
    const ft = METRES_PER_FOOT;
    const yard = makeKeepOut("yard", {polygons: box(150 * ft, 100 * ft, 200 * ft, 435.6 * ft)}, metres(0));
    const cellArea = (10 * SQUARE_METRES_PER_ACRE) as never;
    const [plain, kept] = [planGrid(field, {cellArea}), planGrid(field, {cellArea, keepOuts: [yard]})];
    expect(kept.units.map(({id, area}) => [id, area])).toEqual(plain.units.map(({id, area}) => [id, area]));
    const lost = kept.units.map(({keptOut = 0}) => keptOut / SQUARE_METRES_PER_ACRE);
    expect(lost.filter((acres) => acres > 1e-6)).toHaveLength(1);
    // Corners of an overlay stand on a grid of 60 nm: that is 1e-9 ac here.
    expect(Math.max(...lost)).toBeCloseTo(2, 7);
    for (const {cores} of kept.units) for (const {x, y} of cores) expect(contains(yard.shape, x, y)).toBe(false);
    const said = kept.issues.find(({code}) => code === "sampling/kept-out")?.message;
    expect(said).toMatch(/yard 2\.0 ac\)\. Lost for cores: FRTG\d\d 2\.0 ac of 10\.0 ac\./);
    // By hand: a field of 1320 ft less 50 ft all round, less 30 ft either side of the borders inside, less the yard.
    const open = ((1320 - 100 - 60) ** 2 - 200 * 435.6) / 43_560;
    expect(kept.units.reduce((sum, {room = 0}) => sum + room, 0) / SQUARE_METRES_PER_ACRE).toBeCloseTo(open, 6);
    expect(said).toContain(`${open.toFixed(1)} ac of 40.0 ac are open`);
  });

  it("that leave no room are told as an error, and the unit still has its acres", () => {
    const all = makeKeepOut("flood", {polygons: box(-10, -10, 230, 230)}, metres(0));
    const plan = planGrid(field, {cellArea: (10 * SQUARE_METRES_PER_ACRE) as never, keepOuts: [all]});
    const drowned = plan.units.filter(({cores}) => cores.length === 0);
    expect(drowned).toHaveLength(1);
    expect((drowned[0]?.area ?? 0) / SQUARE_METRES_PER_ACRE).toBeCloseTo(10, 6);
    expect(plan.issues.find(({code}) => code === "sampling/no-room")?.message).toContain(drowned[0]?.id);
  });

  it("each keep their own distance", () => {
    const road = makeKeepOut(
      "road",
      {
        lines: [
          [
            {x: -5, y: 0},
            {x: 410, y: 0},
          ],
        ],
      },
      metres(45.72),
    );
    const inlet = makeKeepOut("inlet", {points: [{x: 200, y: 250}]}, metres(15.24));
    const plan = planWholeField(field, {keepOuts: [road, inlet], cores: 60});
    for (const core of plan.units.flatMap(({cores}) => cores)) {
      expect(core.y).toBeGreaterThanOrEqual(45.72 - 1e-6);
      expect(distanceM(core, {x: 200, y: 250})).toBeGreaterThan(15.24 * 0.995);
    }
  });

  it("change nothing in a plan without any", () => {
    expect(planGrid(field, {keepOuts: []})).toEqual(planGrid(field));
  });

  it("leave 136.68 ac of a 160-ac square less 100 ft all round, and 145.79 ac less 60 ft", () => {
    const square = fieldOf(rectangleFt(2640, 2640));
    // Worked: (2640 − 200)² and (2640 − 120)² ft².
    for (const [feet, acres] of [
      [100, 136.68],
      [60, 145.79],
    ] as const) {
      const tiny = makeKeepOut("post", {points: [{x: -99, y: -99}]}, metres(1));
      const options = {
        keepOuts: [tiny],
        edge: metres(0),
        fieldEdge: metres(feet * METRES_PER_FOOT),
        maxArea: (170 * SQUARE_METRES_PER_ACRE) as never,
      };
      const [unit] = planWholeField(square, options).units;
      expect((unit?.room ?? 0) / SQUARE_METRES_PER_ACRE).toBeCloseTo(acres, 1);
      expect(Math.abs((unit?.room ?? 0) / SQUARE_METRES_PER_ACRE - acres)).toBeLessThan(0.02);
    }
  });
});
