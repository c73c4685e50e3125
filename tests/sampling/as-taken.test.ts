import {beforeAll, describe, expect, it} from "vitest";
import {loadGeos} from "../../src/geo/geos.ts";
import type {XY} from "../../src/geo/shapes.ts";
import {asTaken, type LoggedCore} from "../../src/sampling/as-taken.ts";
import {planGrid} from "../../src/sampling/by-grid.ts";
import type {SamplingPlan} from "../../src/sampling/plan.ts";
import {stopsOf} from "../../src/sampling/track-stops.ts";
import {seededRandom} from "../../src/stats/random.ts";
import {checkCharacter} from "../../src/units/check-character.ts";
import {METRES_PER_FOOT} from "../../src/units/factors.ts";
import {metres, squareMetres} from "../../src/units/quantity.ts";
import {fieldOf, rectangleFt, ringOf} from "./make-field.ts";

/** Two squares of 100 m side by side, three cores each, 20 m apart on a line. */
const plan: SamplingPlan = {
  strategy: "grid",
  units: [0, 100].map((west, i) => ({
    id: `KFG0${i + 1}`,
    label: `cell ${i + 1}`,
    shape: [[ringOf([west, 0], [west + 100, 0], [west + 100, 100], [west, 100])]],
    area: squareMetres(1e4),
    cores: [30, 50, 70].map((x, k) => ({x: west + x, y: 50, number: k + 1})),
  })),
  depth: metres(0.2032),
  pooled: false,
  seed: 1,
  issues: [],
  madeFrom: {step: "test", inputs: [], options: {}},
};

const core = (x: number, y: number, more: Partial<LoggedCore> = {}): LoggedCore => ({
  x,
  y,
  place: {file: "log.csv"},
  ...more,
});
const take = (cores: LoggedCore[], skipped: {sampleId: string; why: string}[] = [], on = plan) =>
  asTaken(on, {cores, skipped: skipped.map((skip) => ({...skip, place: {file: "log.csv"}}))}, {tolerance: metres(5)});
const codes = (result: ReturnType<typeof take>): string[] => result.issues.map(({code}) => code);
const first = (result: ReturnType<typeof take>) => result.units[0];
const second = (result: ReturnType<typeof take>) => result.units[1];

describe("cores as they were taken", () => {
  it("keep both places and the distance, by hand: 3 m east and 4 m north of the mark is 5 m", () => {
    const result = take([core(33, 54, {sampleId: " kfg01 ", core: 1})]);
    expect(first(result)?.cores).toEqual([
      {
        bag: "KFG01",
        on: "KFG01",
        number: 1,
        planned: {x: 30, y: 50},
        taken: {x: 33, y: 54},
        distance: 5,
        by: "id",
        fellIn: "KFG01",
        off: false,
      },
    ]);
    expect(first(result)?.missing).toEqual([2, 3]);
    expect([result.meanDistance, result.mostDistance]).toEqual([5, 5]);
  });

  it("go into the bag whose id is written, wherever they were taken, and are told when that was other ground", () => {
    const result = take([core(120, 50, {sampleId: "KFG01", core: 3})]);
    expect(first(result)?.cores[0]).toMatchObject({bag: "KFG01", fellIn: "KFG02", off: true, distance: 50});
    expect(result.issues.find(({code}) => code === "taken/other-unit")?.message).toContain("KFG01-3 on KFG02");
  });

  it("outside the field fell in no unit", () => {
    const result = take([core(-10, 50, {sampleId: "KFG01"})]);
    expect(first(result)?.cores[0]?.fellIn).toBeUndefined();
    expect(codes(result)).toContain("taken/outside");
  });

  it("without an id go to the nearest planned core, each of them once", () => {
    const result = take([core(31, 50), core(52, 50), core(130, 52)]);
    expect(first(result)?.cores.map(({number, by}) => [number, by])).toEqual([
      [1, "place"],
      [2, "place"],
    ]);
    expect(second(result)?.cores.map(({number}) => number)).toEqual([1]);
    // Two cores by one mark: the nearer has it, the other lies on the ground of the unit and stands for the next mark.
    const twice = take([core(31, 50), core(30.5, 50)]);
    expect(first(twice)?.cores.map(({number, by}) => [number, by])).toEqual([
      [2, "ground"],
      [1, "place"],
    ]);
  });

  it("far from every mark go with the bag being filled at the time, even across a border", () => {
    const result = take([core(70, 50, {timeS: 100}), core(110, 80, {timeS: 130}), core(50, 50, {timeS: 160})]);
    const [, across] = first(result)?.cores ?? [];
    expect(across).toMatchObject({by: "time", bag: "KFG01", fellIn: "KFG02", off: true});
    // Without times the ground decides.
    expect(second(take([core(110, 80)]))?.cores[0]).toMatchObject({by: "ground", bag: "KFG02"});
  });

  it("on no ground at all are strays, never guessed at", () => {
    const result = take([core(500, 500)]);
    expect(result.strays).toHaveLength(1);
    expect(result.issues.find(({code}) => code === "taken/stray")?.message).toContain("1 logged place lies");
  });

  it("with an id that is in no plan are strays, with the place in the log", () => {
    const result = take([
      core(30, 50, {sampleId: "KFG09", place: {file: "log.csv", row: 7}}),
      core(31, 50, {sampleId: "KFG09"}),
    ]);
    expect(result.strays).toHaveLength(2);
    expect(result.issues.filter(({code}) => code === "taken/unknown-id")).toMatchObject([
      {place: {row: 7}, message: expect.stringContaining("its 2 cores were left out")},
    ]);
  });

  it("of a plan with check characters are told as misread when theirs does not fit", () => {
    const guard = (id: string): string => id + checkCharacter(id);
    const guarded = {...plan, units: plan.units.map((unit) => ({...unit, id: guard(unit.id)}))};
    const wrong = guard("KFG01").replace("1", "7");
    expect(codes(take([core(1, 1, {sampleId: wrong})], [], guarded))).toContain("taken/misread-id");
    expect(codes(take([core(1, 1, {sampleId: guard("KFG09")})], [], guarded))).toContain("taken/unknown-id");
    // Nothing is said of check characters where the plan's ids have none.
    expect(codes(take([core(1, 1, {sampleId: wrong})]))).toContain("taken/unknown-id");
  });

  it("count a bag left out with the crew's reason, and one that is both left out and taken", () => {
    const result = take([core(30, 50, {sampleId: "KFG01"})], [{sampleId: "KFG02", why: "standing water "}]);
    expect(second(result)).toMatchObject({skipped: "standing water", missing: [1, 2, 3]});
    expect(result.issues.find(({code}) => code === "taken/skipped")?.message).toContain("KFG02 (standing water)");
    expect(codes(result)).not.toContain("taken/not-logged");
    expect(codes(take([core(30, 50, {sampleId: "KFG01"})], [{sampleId: "KFG01", why: "wet"}]))).toContain(
      "taken/skipped-and-taken",
    );
  });

  it("say which bags the log is silent about, and which hold fewer or more cores", () => {
    expect(codes(take([core(30, 50, {sampleId: "KFG01"})]))).toEqual(["taken/not-logged", "taken/fewer-cores"]);
    const four = take([1, 2, 3, 4].map((k) => core(20 * k, 50, {sampleId: "KFG01"})));
    expect(first(four)?.cores.filter(({number}) => number === undefined)).toHaveLength(1);
    expect(codes(four)).toContain("taken/more-cores");
  });

  it("of a second bag are paired with its own marks", () => {
    const twice = {...plan, duplicates: [{id: "KFG03", of: "KFG01", cores: [{x: 30, y: 80, number: 1}]}]};
    const result = take([core(31, 80), core(30, 50)], [], twice);
    const again = result.units.find(({id}) => id === "KFG03");
    expect(again?.cores).toMatchObject([{bag: "KFG03", on: "KFG01", fellIn: "KFG01", distance: 1, off: false}]);
  });

  it("do not change the plan", () => {
    const before = JSON.stringify(plan);
    take([core(33, 54, {sampleId: "KFG01"}), core(500, 1)], [{sampleId: "KFG02", why: "x"}]);
    expect(JSON.stringify(plan)).toBe(before);
  });
});

describe("a whole plan walked with a receiver", () => {
  beforeAll(loadGeos);

  it("comes back core for core when places wander by a few metres, without any id", () => {
    const field = fieldOf(rectangleFt(1320, 1320));
    const made = planGrid(field, {cores: 8, checkCharacter: true, seed: 5});
    const random = seededRandom(9, "wander");
    const wander = (p: XY): LoggedCore => core(p.x + 4 * random.next() - 2, p.y + 4 * random.next() - 2);
    const cores = made.units.flatMap((unit) => unit.cores.map(wander));
    const result = asTaken(made, {cores, skipped: []});
    expect(result.strays).toEqual([]);
    expect(result.issues).toEqual([]);
    for (const unit of result.units) {
      expect(unit.cores.map(({number}) => number)).toEqual(
        made.units.find(({id}) => id === unit.id)?.cores.map(({number}) => number),
      );
    }
    // At most the corner of the 4 m square they wandered in.
    expect(result.mostDistance).toBeLessThanOrEqual(Math.hypot(2, 2));
    const misread = asTaken(made, {cores: [core(1, 1, {sampleId: "TFG018"})], skipped: []});
    expect(misread.issues.map(({code}) => code)).toContain("taken/misread-id");
  });

  it("takes 15 ft from a mark for usual", () => {
    const at = (feet: number) =>
      asTaken(plan, {cores: [core(30 + feet * METRES_PER_FOOT, 50, {sampleId: "KFG01", core: 1})], skipped: []})
        .units[0]?.cores[0]?.off;
    expect([at(14.9), at(15.1)]).toEqual([false, true]);
  });
});

describe("halts of a track", () => {
  /** A point each second: 1 m/s to the east, standing for `halt` seconds at every 30 m. */
  function track(halt: number, wander = 0) {
    const random = seededRandom(4, "halts");
    const points: {x: number; y: number; timeS: number}[] = [];
    let timeS = 0;
    for (let x = 0; x <= 90; x++) {
      for (let k = 0; k < (x % 30 === 0 && x > 0 ? halt : 1); k++) {
        points.push({x: x * 1.5 + wander * (random.next() - 0.5), y: wander * (random.next() - 0.5), timeS: timeS++});
      }
    }
    return points;
  }

  it("are where it stood, by hand: three halts at 45, 90 and 135 m", () => {
    const stops = stopsOf(track(20), 12);
    expect(stops.map(({x}) => Math.round(x / 5) * 5)).toEqual([45, 90, 135]);
    for (const {seconds} of stops) expect(seconds).toBeGreaterThanOrEqual(19);
  });

  it("are found under the wander of a receiver, and none where nobody stood", () => {
    expect(stopsOf(track(20, 2), 12)).toHaveLength(3);
    expect(stopsOf(track(1), 12)).toEqual([]);
    expect(stopsOf([], 10)).toEqual([]);
  });
});
