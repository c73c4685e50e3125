import {afterAll, beforeAll, describe, expect, it} from "vitest";
import {aspectDegrees} from "../../../src/grid/aspect.ts";
import {curvature} from "../../../src/grid/curvature.ts";
import {fillDepressions} from "../../../src/grid/fill.ts";
import {flowAccumulation} from "../../../src/grid/flow-accumulation.ts";
import {positionAbove} from "../../../src/grid/position.ts";
import {slopeDegrees} from "../../../src/grid/slope.ts";
import {wetnessIndex} from "../../../src/grid/wetness.ts";
import {GROUNDS} from "./grounds.ts";
import {Saga, sagaVersion} from "./saga.ts";

// Terrain worked out by SAGA on the same heights in the same run.

console.log(sagaVersion());

describe.each(GROUNDS)("$name", ({cols, cell, heights}) => {
  const saga = new Saga();
  beforeAll(() => saga.put("heights", heights, cols, cell));
  afterAll(() => saga.end());

  /** Cells whose eight neighbours all have heights: elsewhere each program has a rule of its own. */
  const inner = heights.map((_, i) => {
    for (const step of [-1, 0, 1].flatMap((r) => [-1, 0, 1].map((c) => r * cols + c))) {
      if (Number.isNaN(heights[i + step] ?? Number.NaN)) return 0;
    }
    return i % cols > 0 && i % cols < cols - 1 ? 1 : 0;
  });
  const furthest = (ours: Float64Array, theirs: Float64Array, around = Infinity, where = inner): number => {
    let most = 0;
    let cells = 0;
    theirs.forEach((value, i) => {
      if (!where[i] || Number.isNaN(value)) return;
      const apart = Math.abs((ours[i] as number) - value);
      most = Math.max(most, Math.min(apart, around - apart));
      cells++;
    });
    expect(cells).toBeGreaterThan(2500);
    return most;
  };
  const everywhere = heights.map((z) => (Number.isNaN(z) ? 0 : 1));

  it.each([
    ["zevenbergen-thorne", 6],
    ["evans", 3],
  ] as const)("has slope, aspect and curvature by %s", (method, number) => {
    saga.run(
      "ta_morphometry",
      0,
      {ELEVATION: "heights", SLOPE: "slope", ASPECT: "aspect", C_GENE: "general", C_LONG: "long", C_CROS: "cross"},
      {METHOD: number, UNIT_SLOPE: 1, UNIT_ASPECT: 1},
    );
    // Grids come out as Float32.
    expect(furthest(slopeDegrees(heights, cols, cell, method), saga.get("slope"))).toBeLessThan(1e-5);
    expect(furthest(aspectDegrees(heights, cols, method), saga.get("aspect"), 360)).toBeLessThan(1e-4);
    const bent = (kind: "general" | "profile" | "tangential") => curvature(heights, cols, cell, kind, method);
    const most = Math.max(...bent("general").filter((v) => !Number.isNaN(v)));
    expect(furthest(bent("general"), saga.get("general"))).toBeLessThan(1e-6 * most);
    // Longitudinal and cross-sectional curvature are profile and tangential without their powers of 1 + g.
    const steep = slopeDegrees(heights, cols, cell, method).map((d) => 1 + Math.tan((d * Math.PI) / 180) ** 2);
    const long = saga.get("long").map((v, i) => v / (steep[i] as number) ** 1.5);
    const cross = saga.get("cross").map((v, i) => v / Math.sqrt(steep[i] as number));
    expect(furthest(bent("profile"), long)).toBeLessThan(1e-5 * most);
    expect(furthest(bent("tangential"), cross)).toBeLessThan(1e-5 * most);
  });

  it("is filled to the same levels in every cell", () => {
    saga.run(
      "ta_preprocessor",
      4,
      {ELEV: "heights", FILLED: "filled", FDIR: "directions", WSHED: "basins"},
      {MINSLOPE: 0},
    );
    const {levels} = fillDepressions(heights, cols);
    expect(furthest(levels, saga.get("filled"), Infinity, everywhere)).toBeLessThan(2e-5); // Float32 of heights of 100 m
    expect(levels.some((level, i) => level > (heights[i] as number) + 1e-3)).toBe(true);
  });

  it("drains by the steepest way and shared out as there, edges by their rules", () => {
    const settings = {FLOW_UNIT: 0, CONVERGENCE: 1.1};
    saga.run("ta_hydrology", 0, {ELEVATION: "heights", FLOW: "d8"}, {...settings, METHOD: 0});
    saga.run("ta_hydrology", 0, {ELEVATION: "heights", FLOW: "fd8"}, {...settings, METHOD: 4});
    const d8 = flowAccumulation(heights, cols, {method: "d8", edges: "ends"}).cells;
    expect(furthest(d8, saga.get("d8"), Infinity, everywhere)).toBeLessThan(1e-9);
    const fd8 = flowAccumulation(heights, cols, {method: "fd8", edges: "leaves"}).cells;
    const theirs = saga.get("fd8");
    const share = fd8.map((cells, i) => cells / (theirs[i] as number));
    expect(
      furthest(
        share,
        everywhere.map((v) => v || Number.NaN),
        Infinity,
        everywhere,
      ),
    ).toBeLessThan(1e-6);
  });

  it("has the same wetness from the same catchments and slopes", () => {
    const {cells} = flowAccumulation(fillDepressions(heights, cols), cols);
    const slope = slopeDegrees(heights, cols, cell);
    saga.put(
      "area",
      cells.map((count) => count * cell),
      cols,
      cell,
    );
    saga.put(
      "radians",
      slope.map((degrees) => (degrees * Math.PI) / 180),
      cols,
      cell,
    );
    saga.run("ta_hydrology", 20, {SLOPE: "radians", AREA: "area", TWI: "wetness"});
    const gentle = slope.map((degrees, i) => (degrees > 0.06 && everywhere[i] ? 1 : 0)); // above our least slope
    expect(furthest(wetnessIndex(cells, slope, cell), saga.get("wetness"), Infinity, gentle)).toBeLessThan(1e-5);
  });

  it("has the same position, but that the cell itself counts there", () => {
    const radius = 6.2 * cell;
    saga.run("ta_morphometry", 18, {DEM: "heights", TPI: "position"}, {STANDARD: 0, RADIUS_MIN: 0, RADIUS_MAX: radius});
    const ours = positionAbove(heights, cols, cell, radius);
    // Of n neighbours and itself: mean of n + 1 instead of n.
    const reach = Array.from({length: 13}, (_, r) => r - 6);
    const around = heights.map((z, i) => {
      if (Number.isNaN(z)) return 0;
      let n = 0;
      for (const r of reach) {
        for (const c of reach) {
          const col = (i % cols) + c;
          const height = col < 0 || col >= cols ? Number.NaN : (heights[i + r * cols + c] ?? Number.NaN);
          if (Math.hypot(r, c) <= 6.2 && !Number.isNaN(height)) n++;
        }
      }
      return n;
    });
    const counted = ours.map((value, i) => (value * ((around[i] as number) - 1)) / (around[i] as number));
    expect(furthest(counted, saga.get("position"), Infinity, everywhere)).toBeLessThan(1e-5);
  });
});
