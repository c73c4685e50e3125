import {beforeAll, describe, expect, it} from "vitest";
import {coverageIsValid, loadGeos} from "../../src/geo/geos.ts";
import {areaM2} from "../../src/geo/measure.ts";
import {centreX, gridOver} from "../../src/grid/grid.ts";
import {maskOf} from "../../src/grid/rasterize.ts";
import {type SurfaceInput, surfaceGround} from "../../src/prescription/surface-ground.ts";
import {frame, ringOf} from "./fields.ts";

beforeAll(loadGeos);

const outline = [[ringOf(0, 0, 400, 200)]];
const grid = gridOver(frame, {west: 0, south: 0, east: 400, north: 200}, 10);
const mask = maskOf(grid, outline);
const limits = {stepLbPerAcre: 5, minLbPerAcre: 0, maxLbPerAcre: 600, belowMin: "zero", outsideLbPerAcre: 0} as const;

function surface(...rates: ((x: number) => number)[]): SurfaceInput {
  const layers = rates.map((rate) =>
    Float64Array.from(mask, (inField, cell) => (inField ? rate(centreX(grid, cell % grid.cols)) : Number.NaN)),
  );
  return {
    outline,
    area: 80_000,
    grid,
    exact: layers,
    nutrient: layers.map((layer) => layer.map((rate) => rate / 2)),
    limits: rates.map(() => limits),
    levels: 4,
    leastAreaM2: 1000,
    text: "rate",
    source: "test",
  };
}

const total = (ground: ReturnType<typeof surfaceGround>["ground"], p = 0): number =>
  ground.reduce((sum, {area, wants}) => sum + area * (wants[p]?.exactLbPerAcre ?? 0), 0);

describe("a rate surface drawn as ground", () => {
  it("a step is two grounds with the rates on either side, and their border on it", () => {
    const {ground} = surfaceGround(surface((x) => (x < 200 ? 100 : 180)));
    expect(ground.map(({wants}) => wants[0]?.exactLbPerAcre).sort()).toEqual([100, 180]);
    expect(ground.map(({wants}) => wants[0]?.nutrientLbPerAcre).sort()).toEqual([50, 90]);
    for (const {area} of ground) expect(area).toBeCloseTo(40_000, 6);
  });

  it("a slope is cut into the levels allowed, and keeps its pounds", () => {
    const {ground} = surfaceGround(surface((x) => 100 + x / 4));
    expect(ground).toHaveLength(4);
    // Cells lie half in a level beside a border; the mean of the slope is 150 lb/ac.
    expect(total(ground) / 80_000).toBeCloseTo(150, 1);
    expect(
      coverageIsValid(
        ground.flatMap(({shape}) => shape),
        0.1,
      ),
    ).toBe(true);
    expect(ground.reduce((sum, {shape}) => sum + areaM2(shape), 0)).toBeCloseTo(80_000, 6);
  });

  it("two products share ground that tells both apart", () => {
    const {ground} = surfaceGround(
      surface(
        (x) => (x < 200 ? 100 : 180),
        (x) => (x < 100 ? 0 : 60),
      ),
    );
    const pairs = ground.map(({wants}) => wants.map(({exactLbPerAcre}) => exactLbPerAcre).join()).sort();
    expect(pairs).toEqual(["100,0", "100,60", "180,60"]);
  });

  it("a speck goes to its neighbour, whose mean takes it in", () => {
    const speck = (x: number): number => (x > 50 && x < 60 ? 300 : 100);
    const made = surface(speck);
    // One column of cells, 2000 square metres, is under the least area here.
    const {ground} = surfaceGround({...made, leastAreaM2: 3000});
    expect(ground).toHaveLength(1);
    expect(ground[0]?.wants[0]?.exactLbPerAcre).toBeCloseTo(105, 9);
  });

  it("three products get fewer levels each, so that all their triples can be told apart", () => {
    const slope = (x: number): number => 100 + x;
    expect(surfaceGround({...surface(slope, slope, slope), levels: 20}).levels).toBe(6);
  });
});
