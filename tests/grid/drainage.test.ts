import fc from "fast-check";
import {describe, expect, it} from "vitest";
import {breachDepressions} from "../../src/grid/breach.ts";
import {fillDepressions} from "../../src/grid/fill.ts";
import {flowAccumulation} from "../../src/grid/flow-accumulation.ts";
import {findPonds} from "../../src/grid/ponding.ts";
import {slopeDegrees} from "../../src/grid/slope.ts";
import {wetnessIndex} from "../../src/grid/wetness.ts";
import {hasSharedTerrain, sharedTable, surface, wavy} from "./terrain-surfaces.ts";

/** A slope to the east, a metre a cell, with a hole of 3 × 3 cells five metres deep. */
const pit7 = Float64Array.from({length: 49}, (_, i) => {
  const [row, col] = [Math.floor(i / 7), i % 7];
  return 10 - col - (row > 1 && row < 5 && col > 1 && col < 5 ? 5 : 0);
});

const raised = (heights: Float64Array, levels: Float64Array) => {
  const depths = [...levels].map((level, i) => level - (heights[i] as number));
  return {
    cells: depths.filter((depth) => depth > 1e-9).length,
    most: Math.max(...depths.filter((depth) => !Number.isNaN(depth))),
    sum: depths.reduce((total, depth) => total + (Number.isNaN(depth) ? 0 : depth), 0),
  };
};

describe("filled depressions", () => {
  it("stand at the lowest way out", () => {
    // The hole spills over its eastern rim, five metres high: 2 + 3 + 4 deep along each of three rows.
    expect(raised(pit7, fillDepressions(pit7, 7).levels)).toEqual({cells: 9, most: 4, sum: 27});
  });

  it("of rolling ground are those of SAGA and GRASS", () => {
    // SAGA 8.5.0 (Wang and Liu, no least slope) and an independent priority-flood.
    const {cells, most, sum} = raised(wavy, fillDepressions(wavy, 60).levels);
    expect(cells).toBe(805);
    expect(most).toBeCloseTo(4.146055344, 9);
    expect(sum * 25).toBeCloseTo(32757.9996016, 5);
  });

  it("are drained by the way the flood came, and no level falls along it", () => {
    const {levels, order, from} = fillDepressions(wavy, 60);
    expect(order).toHaveLength(3600);
    for (let i = 1; i < order.length; i++) {
      expect(levels[order[i] as number]).toBeGreaterThanOrEqual(levels[order[i - 1] as number] as number);
    }
    from.forEach((way, cell) => {
      if (way !== -1) expect(levels[way]).toBeLessThanOrEqual(levels[cell] as number);
    });
  });

  it("spill into no-data, which is a way out", () => {
    const bowl = surface((x, y) => 0.001 * ((x - 52.5) ** 2 + (y - 52.5) ** 2));
    expect(raised(bowl, fillDepressions(bowl, 21).levels).cells).toBeGreaterThan(200);
    bowl[220] = Number.NaN;
    expect(raised(bowl, fillDepressions(bowl, 21).levels).cells).toBe(0);
  });
});

describe("breached depressions", () => {
  /** A valley to the south behind a dam across rows 8 and 9 of the 21, three metres above its floor. */
  const dammed = surface((x, y) => {
    const row = 20 - Math.floor(y / 5);
    return 0.1 * y + 0.002 * (x - 52.5) ** 2 + (row === 8 || row === 9 ? 3 : 0);
  });

  it("are cut through the least barrier, down to the bottom and no deeper", () => {
    const cut = breachDepressions(dammed, 21, {reachCells: 10, depth: 5});
    expect(cut).toMatchObject({opened: 1, left: 0});
    expect(raised(cut.heights, fillDepressions(cut.heights, 21).levels).sum).toBeLessThan(1e-9);
    const changed = [...cut.heights].flatMap((z, i) => (z === dammed[i] ? [] : [i]));
    expect(changed).toEqual([8 * 21 + 10, 9 * 21 + 10]); // straight through, along the axis
    for (const i of changed) expect(cut.heights[i]).toBe(dammed[7 * 21 + 10]);
  });

  it("are left where the cut would be too deep or too long", () => {
    expect(breachDepressions(dammed, 21, {reachCells: 10, depth: 2})).toMatchObject({opened: 0, left: 1});
    expect(breachDepressions(dammed, 21, {reachCells: 2, depth: 5})).toMatchObject({opened: 0, left: 1});
    expect(breachDepressions(dammed, 21, {reachCells: 10, depth: 2}).heights).toEqual(dammed);
  });

  it("never make ground higher or ponds deeper", () => {
    fc.assert(
      fc.property(fc.array(fc.integer({min: 0, max: 9}), {minLength: 64, maxLength: 64}), (list) => {
        const ground = Float64Array.from(list);
        const {heights, opened, left} = breachDepressions(ground, 8, {reachCells: 4, depth: 4});
        heights.forEach((z, i) => {
          expect(z).toBeLessThanOrEqual(ground[i] as number);
          expect((ground[i] as number) - z).toBeLessThanOrEqual(4);
        });
        const before = fillDepressions(ground, 8).levels;
        fillDepressions(heights, 8).levels.forEach((level, i) => {
          expect(level).toBeLessThanOrEqual(before[i] as number);
        });
        if (opened + left === 0) expect(heights).toEqual(ground);
      }),
      {numRuns: 200},
    );
  });
});

describe("flow down a plane", () => {
  const south = surface((_, y) => 100 + 0.1 * y);

  it("is shared by slope to the power 1.1: straight on most, the rest to both sides", () => {
    // One cell's own water on its way: what the three cells below it get (Freeman's exponent).
    const shares = [1, Math.SQRT1_2 ** 1.1, Math.SQRT1_2 ** 1.1];
    const total = shares.reduce((sum, share) => sum + share);
    expect((shares[0] as number) / total).toBeCloseTo(0.4226470776, 10);
    const three = flowAccumulation(south.slice(0, 42), 21, {edges: "ends"});
    expect(three.left).toBe(42); // two rows are all edge
    const {cells} = flowAccumulation(
      surface((_, y) => 0.1 * y, {cols: 5, rows: 4}),
      5,
      {edges: "ends"},
    );
    // Rows 1 and 2 are inside; (2, 1) gets 0.4226 from above and 0.2887 from one neighbour of that row.
    expect(cells[2 * 5 + 1]).toBeCloseTo(1 + 0.4226470776 + 0.2886764612, 9);
    expect(cells[2 * 5 + 2]).toBeCloseTo(1 + 0.4226470776 + 2 * 0.2886764612, 9);
    expect(cells[3 * 5 + 0]).toBeCloseTo(1 + 0.2886764612 * (cells[2 * 5 + 1] as number), 9);
  });

  it("gathers a cell a row where all of it goes straight on", () => {
    const {cells} = flowAccumulation(south, 21, {method: "d8"});
    for (let row = 0; row < 21; row++) expect(cells[row * 21 + 10]).toBe(row + 1);
    const wetness = wetnessIndex(cells, slopeDegrees(south, 21, 5), 5);
    expect(wetness[10 * 21 + 10]).toBeCloseTo(6.309918278, 9); // ln(11 · 5 / 0.1)
  });

  it("is shared by contour lengths after Quinn, and between two neighbours after Tarboton", () => {
    const three = surface((_, y) => 0.1 * y, {cols: 5, rows: 4});
    const quinn = flowAccumulation(three, 5, {method: "quinn", edges: "ends"}).cells;
    expect(quinn[2 * 5 + 1]).toBeCloseTo(1 + 0.4996843988 + 0.2501578006, 9);
    expect(quinn[2 * 5 + 2]).toBeCloseTo(1 + 0.4996843988 + 2 * 0.2501578006, 9);
    // Ground that rises 3 % east and 4 % north: its fall lies between south and south-west.
    const plane = surface((x, y) => 0.03 * x + 0.04 * y, {cols: 4, rows: 4});
    const {cells} = flowAccumulation(plane, 4, {method: "dinf", edges: "ends"});
    expect(cells[3 * 4 + 0]).toBeCloseTo(1 + 0.8193310588 * (cells[2 * 4 + 1] as number), 9); // only cells inside pass on
    expect(cells[2 * 4 + 2]).toBeCloseTo(1 + 0.1806689412, 9);
    expect(cells[2 * 4 + 1]).toBeCloseTo(1 + 0.1806689412 + 0.8193310588, 9);
    // Due south, all of it goes straight on.
    for (let row = 1; row < 20; row++) {
      expect(flowAccumulation(south, 21, {method: "dinf"}).cells[row * 21 + 10]).toBeCloseTo(row + 1, 9);
    }
  });

  it("comes from the edge everywhere", () => {
    expect(flowAccumulation(south, 21).fromEdge.every((mark) => mark === 1)).toBe(true);
  });
});

describe("flow over rolling ground", () => {
  it("by the steepest way is that of SAGA where edges are ends", () => {
    const {cells} = flowAccumulation(wavy, 60, {method: "d8", edges: "ends"});
    expect(cells[19 * 60 + 31]).toBe(1399);
    expect(Math.max(...cells)).toBe(1399);
    expect(cells.reduce((sum, a) => sum + Math.log(a), 0)).toBeCloseTo(5661.754882813, 8);
  });

  it("shared out is that of SAGA where it leaves over the edges", () => {
    const {cells} = flowAccumulation(wavy, 60);
    expect(cells[19 * 60 + 31]).toBeCloseTo(1394.057477, 5);
  });

  it("loses no cell and makes none", () => {
    for (const ground of [wavy, fillDepressions(wavy, 60)]) {
      for (const method of ["d8", "fd8", "quinn", "dinf"] as const) {
        for (const edges of ["leaves", "ends"] as const) {
          const {left, held} = flowAccumulation(ground, 60, {method, edges});
          expect(left + held).toBeCloseTo(3600, 8);
          if (ground !== wavy) expect(held).toBe(0);
          else expect(held).toBeGreaterThan(1000);
        }
      }
    }
  });

  it("from a knoll inside is not taken for water from beyond the edge", () => {
    const knoll = surface((x, y) => 50 * Math.exp(-((x - 150) ** 2 + (y - 150) ** 2) / 5000), {cols: 60, rows: 60});
    const {fromEdge} = flowAccumulation(knoll, 60);
    expect(fromEdge[30 * 60 + 40]).toBe(0);
    expect(fromEdge[59]).toBe(1);
    // Ground that falls in from the west edge brings unknown water to all below it.
    const slope = surface((x, y) => 0.05 * Math.abs(x - 150) + 0.001 * y, {cols: 60, rows: 60});
    expect(flowAccumulation(fillDepressions(slope, 60), 60).fromEdge[30 * 60 + 10]).toBe(1);
  });

  it("passes by cells without heights", () => {
    const holed = wavy.slice();
    for (let i = 1000; i < 1020; i++) holed[i] = Number.NaN;
    const {cells, left, held} = flowAccumulation(fillDepressions(holed, 60), 60);
    expect(cells[1005]).toBeNaN();
    expect(left + held).toBeCloseTo(3580, 8);
  });
});

describe("ponds", () => {
  it("have the depth, area and volume of what was filled", () => {
    const {ponds, depth} = findPonds(pit7, fillDepressions(pit7, 7).levels, 7, 1, {leastAreaM2: 1});
    expect(ponds).toHaveLength(1);
    expect(ponds[0]).toMatchObject({levelM: 5, depthM: 4, areaM2: 9, volumeM3: 27, cell: 2 * 7 + 4});
    expect(depth[3 * 7 + 3]).toBe(3);
    expect(depth[0]).toBe(0);
  });

  it("too shallow or too small are none", () => {
    const levels = fillDepressions(pit7, 7).levels;
    for (const limits of [{leastDepthM: 4.1, leastAreaM2: 1}, {leastAreaM2: 10}]) {
      const {ponds, depth} = findPonds(pit7, levels, 7, 1, limits);
      expect(ponds).toEqual([]);
      expect(depth.every((d) => d === 0)).toBe(true);
    }
  });

  it("that touch at different levels are two", () => {
    const steps = Float64Array.of(9, 9, 9, 9, 9, 9, 9, 2, 8, 3, 4, 9, 9, 9, 9, 9, 9, 0);
    const levels = fillDepressions(steps, 6).levels;
    const {ponds} = findPonds(steps, levels, 6, 10, {leastDepthM: 0});
    expect(ponds.map(({levelM, volumeM3}) => [levelM, volumeM3])).toEqual(
      [
        [8, 600],
        [4, 100],
      ].slice(0, ponds.length),
    );
  });
});

describe.skipIf(!hasSharedTerrain)("a real volcano in whole metres (skipped: no shared data)", () => {
  it("fills as SAGA and GRASS fill it", () => {
    const {values, cols} = sharedTable("volcano_asR_87x61.csv");
    const {levels} = fillDepressions(values, cols);
    expect(raised(values, levels)).toEqual({cells: 103, most: 20, sum: 887}); // 88,700 m³ at 10 m
    sharedTable("volcano__filled_pf.csv").values.forEach((level, i) => {
      expect(levels[i]).toBe(level);
    });
    expect(sharedTable("wavy__acc_mfd_edge-extrap_saga-exact.csv").values.length).toBe(3600);
  });

  it("and rolling ground drain cell by cell as in SAGA 8.5.0, both ways", () => {
    const d8 = flowAccumulation(wavy, 60, {method: "d8", edges: "ends"}).cells;
    sharedTable("wavy__acc_d8_edge-sink_saga-exact.csv").values.forEach((cells, i) => {
      expect(d8[i]).toBe(cells);
    });
    const fd8 = flowAccumulation(wavy, 60).cells;
    sharedTable("wavy__acc_mfd_edge-extrap_saga-exact.csv").values.forEach((cells, i) => {
      expect(Math.abs((fd8[i] as number) / cells - 1)).toBeLessThan(1e-8); // ten digits were kept
    });
  });
});
