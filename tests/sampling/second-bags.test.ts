import {beforeAll, describe, expect, it} from "vitest";
import {loadGeos} from "../../src/geo/geos.ts";
import {contains} from "../../src/geo/measure.ts";
import {matchTests} from "../../src/lab/match-tests.ts";
import type {SoilTest} from "../../src/lab/soil-test.ts";
import {planGrid} from "../../src/sampling/by-grid.ts";
import {pickForDuplicates} from "../../src/sampling/duplicates.ts";
import {sampleIds} from "../../src/sampling/sample-id.ts";
import {seededRandom} from "../../src/stats/random.ts";
import {hasGoodCheck} from "../../src/units/check-character.ts";
import {fieldOf, rectangleFt} from "./make-field.ts";

beforeAll(loadGeos);

const field = fieldOf(rectangleFt(2640, 2640), "Quarter");

describe("second bags", () => {
  it("are taken from units chosen at random, with cores and numbers of their own", () => {
    const plan = planGrid(field, {duplicates: 6, prefix: "QT"});
    const twice = plan.duplicates ?? [];
    expect(twice.map(({id}) => id)).toEqual(["QTG65", "QTG66", "QTG67", "QTG68", "QTG69", "QTG70"]);
    expect(new Set(twice.map(({of}) => of)).size).toBe(6);
    for (const {of, cores} of twice) {
      const unit = plan.units.find(({id}) => id === of);
      expect(cores).toHaveLength(10);
      for (const {x, y} of cores) {
        expect(contains(unit?.shape ?? [], x, y)).toBe(true);
        expect(unit?.cores.some((core) => core.x === x && core.y === y)).toBe(false);
      }
    }
    expect(plan.issues.find(({code}) => code === "sampling/duplicates")?.message).toContain(
      `QTG65 from ${twice[0]?.of}`,
    );
  });

  it("move no core of the first bags and no id", () => {
    const units = (duplicates: number) => planGrid(field, {duplicates}).units.map(({id, shape}) => ({id, shape}));
    const places = (duplicates: number) =>
      planGrid(field, {duplicates}).units.map(({cores}) => cores.map(({x, y}) => `${x},${y}`).sort());
    expect(units(5)).toEqual(units(0));
    expect(places(5)).toEqual(places(0));
  });

  it("give every unit the same chance", () => {
    const counts = new Array<number>(10).fill(0);
    for (let seed = 0; seed < 3000; seed++) {
      for (const i of pickForDuplicates(new Array(10).fill(true), 3, seededRandom(seed, "pick"))) counts[i]!++;
    }
    // 900 each; binomial standard deviation √(3000 · 0.3 · 0.7) = 25, four of them are 100.
    for (const count of counts) expect(Math.abs(count - 900)).toBeLessThan(100);
  });

  it("are no more than there are units with room", () => {
    expect([...pickForDuplicates([true, false, true], 9, seededRandom(1, "pick"))].sort()).toEqual([0, 2]);
  });

  it.each([-1, 1.5, Number.NaN])("cannot be %f", (duplicates) => {
    expect(() => planGrid(field, {duplicates})).toThrow(expect.objectContaining({code: "sampling/duplicates"}));
  });
});

describe("ids with a check character", () => {
  it("are the plain ids and one more character, and all check", () => {
    const plain = sampleIds("KF", "grid", 150);
    const guarded = sampleIds("KF", "grid", 150, true);
    expect(guarded.map((id) => id.slice(0, -1))).toEqual(plain);
    for (const id of guarded) {
      expect(hasGoodCheck(id)).toBe(true);
      expect(id.length).toBeLessThanOrEqual(8);
    }
    expect(planGrid(field, {checkCharacter: true}).units.every(({id}) => hasGoodCheck(id))).toBe(true);
  });

  it("let the lab's answer say which were misread", () => {
    const ids = sampleIds("KF", "grid", 20, true);
    const test = (sampleId: string): SoilTest => ({
      sampleId,
      analyte: "P",
      value: 20,
      unit: "mg/kg",
      method: "mehlich-3 icp",
      depthM: 0.2032,
      source: {file: "lab.csv", row: 2, column: "P"},
    });
    const wrong = `KFG70${ids[6]?.slice(-1)}`; // 07 written as 70
    const {issues, byUnit} = matchTests([test(ids[0] as string), test(wrong)], ids);
    expect(byUnit.get(ids[0] as string)).toHaveLength(1);
    expect(issues.find(({code}) => code === "lab/unknown-id")?.message).toContain("Its check character is wrong");
  });
});
