import {beforeAll, describe, expect, it} from "vitest";
import {loadGeos} from "../../src/geo/geos.ts";
import {costOfPlan, plansWithin} from "../../src/sampling/budget.ts";
import {planGrid} from "../../src/sampling/by-grid.ts";
import {timeOnField, USUAL_PACE} from "../../src/sampling/pace.ts";
import type {Core, SamplingUnit} from "../../src/sampling/plan.ts";
import {METRES_PER_FOOT, SQUARE_METRES_PER_ACRE} from "../../src/units/factors.ts";
import {metres, squareMetres} from "../../src/units/quantity.ts";
import {bandedZones, fieldOf, rectangleFt} from "./make-field.ts";

beforeAll(loadGeos);

const forty = fieldOf(rectangleFt(1320, 1320), "Forty");
const quarter = fieldOf(rectangleFt(2640, 2640), "Quarter");
const acres = (n: number) => squareMetres(n * SQUARE_METRES_PER_ACRE);

describe("the time to take a plan", () => {
  it("is 196 min for 64 points of 8 cores at 12 s, 60 s a bag, 20,790 ft at 8 mph", () => {
    // Worked: 20,790 ft at 8 mph 29.5 min; 64 · (8 · 12 + 60) s 166.4 min. Cores stand in one place, so none walk.
    const cores = Array.from({length: 8}, (_, i): Core => ({x: 0, y: 0, number: i + 1}));
    const units = Array.from({length: 64}, () => ({cores}) as unknown as SamplingUnit);
    const {hours} = timeOnField(
      {units, walk: metres(20_790 * METRES_PER_FOOT)},
      {...USUAL_PACE, secondsPerCore: 12, secondsPerBag: 60, drivingMph: 8},
    );
    expect(Math.abs(hours * 60 - 196)).toBeLessThan(1);
  });

  it("counts the way between the cores of a bag at walking pace and the rest at driving pace", () => {
    const core = (x: number): Core => ({x, y: 0, number: 1});
    const units = [{cores: [core(0), core(1609.344)]}] as unknown as SamplingUnit[];
    const pace = {drivingMph: 10, walkingMph: 2, secondsPerCore: 0, secondsPerBag: 0};
    // A mile on foot, two miles driven: 0.5 h + 0.2 h.
    expect(timeOnField({units, walk: metres(3 * 1609.344)}, pace).hours).toBeCloseTo(0.7, 9);
  });
});

describe("what a plan costs", () => {
  it("40 ac on a 2-ac grid at 10 $ a sample: 20 samples, 200 $ (University of Maryland FS-1046)", () => {
    const side = Math.sqrt(2 * 43_560);
    const field = fieldOf(rectangleFt(5 * side, 4 * side), "Forty");
    const cost = costOfPlan("grid", planGrid(field, {cellArea: acres(2)}), field, {}, {year: 2022, perBag: 10});
    expect([cost.bags, cost.dollars]).toEqual([20, 200]);
    expect(cost.working).toBe("20 bags × 10.00 $");
  });

  it("64 samples at 10 $ on 160 ac over 4 years: 1.00 $ an acre and year", () => {
    const cost = costOfPlan("grid", planGrid(quarter), quarter, {}, {year: 2022, perBag: 10});
    expect(cost.perAcre).toBeCloseTo(4, 9);
    expect(cost.perAcrePerYear).toBeCloseTo(1, 9);
    // 11 $/ac over 4 years are 2.75 $ (a Minnesota co-op's newsletter, 2007).
    const dear = costOfPlan(
      "grid",
      planGrid(quarter),
      quarter,
      {},
      {year: 2007, perBag: (11 * 160) / 64, yearsServed: 4},
    );
    expect(dear.perAcrePerYear).toBeCloseTo(2.75, 9);
  });

  it("counts second bags, cores and hours", () => {
    const plan = planGrid(forty, {duplicates: 3, cores: 5});
    const cost = costOfPlan("grid", plan, forty, {}, {year: 2026, perBag: 10, perCore: 1, perHour: 30});
    expect(cost.bags).toBe(19);
    expect(cost.cores).toBe(95);
    expect(cost.dollars).toBeCloseTo(190 + 95 + 30 * timeOnField(plan, USUAL_PACE).hours, 9);
  });
});

describe("plans within a budget", () => {
  const prices = {year: 2026, perBag: 12, perCore: 0.5};

  it("are the finest of each strategy that fits, and a tenth of an acre finer would not", () => {
    const {best, tried} = plansWithin(quarter, bandedZones(quarter), {dollars: 600}, prices);
    expect(best.map(({strategy}) => strategy)).toEqual(["whole-field", "zone", "grid"]);
    for (const plan of tried) expect(plan.fits).toBe(plan.dollars <= 600);
    const grids = tried.filter(({strategy, fits}) => strategy === "grid" && fits);
    expect(best[2]?.bags).toBe(Math.max(...grids.map(({bags}) => bags)));
    const cell = Math.min(...grids.map(({what}) => Number(/[\d.]+/.exec(what)?.[0])));
    const finer = planGrid(quarter, {cellArea: acres(cell - 0.1)});
    expect(costOfPlan("finer", finer, quarter, {}, prices).dollars).toBeGreaterThan(600);
  });

  it("keep to a number of bags", () => {
    const {best} = plansWithin(quarter, undefined, {bags: 40}, {year: 2026});
    expect(best.map(({strategy, bags}) => [strategy, bags <= 40])).toEqual([
      ["whole-field", true],
      ["grid", true],
    ]);
    expect(best[1]?.bags).toBeGreaterThan(30);
  });

  it("say what they cost by the acre and year, whose prices, and what was left out", () => {
    const [issue] = plansWithin(forty, undefined, {dollars: 300}, {year: 2026, perBag: 12}).issues;
    expect(issue?.message).toMatch(
      /^Within 300 \$, at your prices of 2026, on 40\.0 ac: whole field, 2 bags, 24 \$ \(0\.60 \$\/ac/,
    );
    expect(issue?.message).toContain("No price was given for cores and labour.");
    expect(issue?.hint).toContain("(assumed)");
  });

  it("that no plan fits are told as a warning", () => {
    const {best, issues} = plansWithin(quarter, undefined, {dollars: 5}, prices);
    expect(best).toEqual([]);
    expect(issues[0]?.severity).toBe("warning");
  });

  it("need a number, and dollars need the price of a bag", () => {
    for (const [budget, list] of [
      [{}, prices],
      [{dollars: 100}, {year: 2026}],
    ] as const) {
      expect(() => plansWithin(forty, undefined, budget, list)).toThrow(
        expect.objectContaining({code: "sampling/budget"}),
      );
    }
  });
});
