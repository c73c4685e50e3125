import {readFileSync} from "node:fs";
import fc from "fast-check";
import {beforeAll, describe, expect, it} from "vitest";
import {loadFiles} from "../../src/cli/load-files.ts";
import {nodeHost} from "../../src/cli/node-host.ts";
import {loadGeos} from "../../src/geo/geos.ts";
import {pointAt} from "../../src/geo/half-plane.ts";
import {areaM2, boxOf, contains, distanceM} from "../../src/geo/measure.ts";
import type {XY} from "../../src/geo/shapes.ts";
import {filesOf} from "../../src/pipeline/files-of.ts";
import {readJob} from "../../src/pipeline/read-job.ts";
import {runJob} from "../../src/pipeline/run.ts";
import {runSampling} from "../../src/pipeline/run-sampling.ts";
import {planGrid} from "../../src/sampling/by-grid.ts";
import {planZones} from "../../src/sampling/by-zone.ts";
import {makeKeepOut} from "../../src/sampling/keep-outs.ts";
import {type CoreMove, moveCores} from "../../src/sampling/move-cores.ts";
import type {PlanOptions} from "../../src/sampling/options.ts";
import type {SamplingPlan} from "../../src/sampling/plan.ts";
import {planMark} from "../../src/sampling/plan-mark.ts";
import {planWholeField} from "../../src/sampling/whole-field.ts";
import {seededRandom} from "../../src/stats/random.ts";
import {METRES_PER_FOOT} from "../../src/units/factors.ts";
import {metres} from "../../src/units/quantity.ts";
import {bandedZones, fieldOf, randomField, rectangleFt, ringOf} from "./make-field.ts";

beforeAll(loadGeos);

const FT = METRES_PER_FOOT;
const coreOf = ({units, duplicates = []}: SamplingPlan, bag: string, number: number) =>
  [...units, ...duplicates].find(({id}) => id === bag)?.cores.find((core) => core.number === number) ??
  expect.fail(`no core ${bag}-${number}`);
const codes = ({issues}: SamplingPlan): string[] => issues.map(({code}) => code);

describe("a core moved by hand", () => {
  // 20 acres as eight cells of 330 ft, two rows of four; in each cell cores keep 30 ft from its edge.
  const field = fieldOf(rectangleFt(1320, 660), "Eight cells");
  const options: PlanOptions = {prefix: "EC", seed: 3, cores: 4};
  let plan: SamplingPlan;
  let at: XY;
  const move = (moves: readonly CoreMove[], more: PlanOptions = {}) =>
    moveCores(field, [plan], moves, {...options, ...more});
  const only = (moves: readonly CoreMove[], more: PlanOptions = {}) => {
    const {plans, outcomes} = move(moves, more);
    return {moved: plans[0] as SamplingPlan, outcome: outcomes[0] ?? expect.fail("no outcome")};
  };
  /** The middle of the cell of a bag. */
  const middleOf = (bag: string): XY => {
    const {west, south, east, north} = boxOf(plan.units.find(({id}) => id === bag)?.shape ?? []);
    return {x: (west + east) / 2, y: (south + north) / 2};
  };
  beforeAll(() => {
    plan = planGrid(field, options);
    at = middleOf("ECG03");
  });

  it("lies at its new place, with its number, and the others where they were", () => {
    const {moved, outcome} = only([{bag: "ECG03", number: 2, to: at, reason: "tile inlet"}]);
    const before = coreOf(plan, "ECG03", 2);
    expect(coreOf(moved, "ECG03", 2)).toEqual({number: 2, ...at, movedFrom: {x: before.x, y: before.y}});
    const feet = Math.round(distanceM(before, at) / FT);
    expect(outcome).toEqual({
      number: 1,
      core: "ECG03-2",
      strategy: "grid",
      applied: true,
      sentence: `Moved ${feet} ft (tile inlet).`,
    });
    for (const unit of plan.units) {
      const now = moved.units.find(({id}) => id === unit.id);
      expect(now?.shape).toBe(unit.shape);
      for (const core of unit.cores) {
        if (unit.id !== "ECG03" || core.number !== 2) expect(coreOf(moved, unit.id, core.number)).toEqual(core);
      }
    }
    expect(moved.issues.find(({code}) => code === "sampling/moved-by-hand")?.message).toBe(
      `Moved by hand: ECG03-2 ${feet} ft (tile inlet).`,
    );
  });

  it("does not change the plan's mark, so that its lab results still belong to it", () => {
    expect(planMark(only([{bag: "ECG03", number: 2, to: at}]).moved)).toBe(planMark(plan));
  });

  it("lengthens the straight walk by the way past its new place, and the spacing is that of the cores as they lie", () => {
    const {moved} = only([{bag: "ECG03", number: 2, to: at}]);
    const cores = (of: SamplingPlan) => of.units.flatMap((unit) => unit.cores);
    // By hand: the walk goes straight from core to core in the order of bags and numbers.
    const straight = (of: SamplingPlan): number =>
      cores(of).reduce((sum, core, i, all) => sum + (i === 0 ? 0 : distanceM(all[i - 1] as XY, core)), 0);
    expect(plan.walk).toBeCloseTo(straight(plan), 9);
    expect(moved.walk).toBeCloseTo(straight(moved), 9);
    expect(moved.walk).not.toBe(plan.walk);
    const own = moved.units.find(({id}) => id === "ECG03") ?? expect.fail();
    const gaps = own.cores.flatMap((a, i) => own.cores.slice(0, i).map((b) => distanceM(a, b)));
    expect(own.spacing).toBe(Math.min(...gaps));
  });

  it("is told with its distance where it lies nearer to the edge than the plan keeps", () => {
    const {west} = boxOf(plan.units.find(({id}) => id === "ECG03")?.shape ?? []);
    const {moved, outcome} = only([{bag: "ECG03", number: 1, to: {x: west + 12 * FT, y: at.y}}]);
    expect(outcome.applied).toBe(true);
    expect(outcome.sentence).toContain("to 12 ft from the edge of its unit");
    // Not more than the nearest: the kept 30 ft no longer hold for all of its cores.
    expect(moved.units.find(({id}) => id === "ECG03")?.edge).toBeCloseTo(12 * FT, 9);
  });

  it("stays where the plan has it when its place is in another unit, outside the field or kept out of", () => {
    const shed = makeKeepOut("shed", {points: [at]}, metres(10));
    for (const [to, more, why] of [
      [middleOf("ECG04"), {}, "Its place lies in ECG04 (cell"],
      [{x: -5, y: 5}, {}, "Its place lies outside the field"],
      [{x: at.x + 9, y: at.y}, {keepOuts: [shed]}, "in ground that is kept out of (shed)"],
    ] as const) {
      const {moved, outcome} = only([{bag: "ECG03", number: 2, to}], more);
      expect(outcome.applied).toBe(false);
      expect(outcome.sentence).toContain(why);
      expect(moved.units).toEqual(plan.units);
      expect(moved.walk).toBe(plan.walk);
      expect(moved.issues.find(({code}) => code === "sampling/move-left-out")).toMatchObject({
        severity: "warning",
        place: {featureId: "ECG03"},
        message: expect.stringContaining(why),
      });
    }
  });

  it("stays where the plan has it when the plan puts it elsewhere by now", () => {
    const before = coreOf(plan, "ECG03", 2);
    const from = {x: before.x + 40 * FT, y: before.y};
    const {moved, outcome} = only([{bag: "ECG03", number: 2, from, to: at}]);
    expect(outcome).toMatchObject({applied: false, sentence: expect.stringContaining("puts it 40 ft from where")});
    expect(moved.units).toEqual(plan.units);
    // A tenth of a millimetre is what files round to.
    expect(only([{bag: "ECG03", number: 2, from: {x: before.x, y: before.y + 1e-4}, to: at}]).outcome.applied).toBe(
      true,
    );
  });

  it("is remarked on when there is no such core or bag", () => {
    const {plans, outcomes, issues} = move([
      {bag: "ECG03", number: 9, to: at},
      {bag: "ECZ01", number: 1, to: at},
      {bag: "ECG03", number: 1, strategy: "zone", to: at},
    ]);
    expect(plans[0]).toBe(plan);
    expect(outcomes.map(({sentence}) => sentence)).toEqual([
      "ECG03 has 4 cores, and none of the number 9.",
      "No plan has a bag ECZ01.",
      "The plan by zone has no bag ECG03.",
    ]);
    expect(issues.map(({code, severity}) => `${severity} ${code}`)).toEqual(
      Array(3).fill("warning sampling/move-left-out"),
    );
  });

  it("counts as moved last, and says so of the move before", () => {
    const to = {x: at.x + 3, y: at.y};
    const {plans, outcomes} = move([
      {bag: "ECG03", number: 2, to: at},
      {bag: "ECG03", number: 2, to},
    ]);
    expect(coreOf(plans[0] as SamplingPlan, "ECG03", 2)).toMatchObject(to);
    expect(outcomes.map(({applied}) => applied)).toEqual([false, true]);
    expect(outcomes[0]?.sentence).toBe("It is moved again by move 2, which counts.");
  });

  it("asks which plan where two have a bag of its id", () => {
    const other = {...planWholeField(field, options), strategy: "whole-field" as const};
    const twin = {...other, units: other.units.map((unit, i) => (i === 0 ? {...unit, id: "ECG03"} : unit))};
    const to = {x: 20, y: 20};
    const asked = moveCores(field, [plan, twin], [{bag: "ECG03", number: 2, to}], options);
    expect(asked.outcomes[0]).toMatchObject({
      applied: false,
      sentence: expect.stringMatching(/^2 plans have a bag ECG03/),
    });
    const said = moveCores(field, [plan, twin], [{bag: "ECG03", number: 2, strategy: "whole-field", to}], options);
    expect(said.outcomes[0]).toMatchObject({applied: true, strategy: "whole-field"});
    expect(said.plans[0]).toBe(plan);
    expect(coreOf(said.plans[1] as SamplingPlan, "ECG03", 2)).toMatchObject(to);
  });

  it("may be of a second bag, within the ground of its unit", () => {
    const twice = planGrid(field, {...options, duplicates: 1});
    const bag = twice.duplicates?.[0] ?? expect.fail("no second bag");
    const to = middleOf(bag.of);
    const {plans, outcomes} = moveCores(field, [twice], [{bag: bag.id, number: 4, to}], options);
    expect(outcomes[0]?.applied).toBe(true);
    expect(coreOf(plans[0] as SamplingPlan, bag.id, 4)).toMatchObject(to);
    expect(plans[0]?.units).toEqual(twice.units);
  });

  it("has the way led past it, round what cannot be crossed", () => {
    const pond = makeKeepOut(
      "pond",
      {polygons: [[ringOf([at.x - 8, at.y - 8], [at.x + 8, at.y - 8], [at.x + 8, at.y + 8], [at.x - 8, at.y + 8])]]},
      metres(0),
      false,
    );
    const routed: PlanOptions = {...options, keepOuts: [pond], route: {rows: 0}, start: {x: 0, y: 0}};
    const before = planGrid(field, routed);
    const to = {x: at.x + 12, y: at.y};
    const bag = before.units.find(({shape}) => contains(shape, to.x, to.y))?.id ?? expect.fail();
    const {plans, outcomes} = moveCores(field, [before], [{bag, number: 1, to}], routed);
    const moved = plans[0] ?? expect.fail();
    expect(outcomes[0]?.applied).toBe(true);
    const {line, length, returns} = moved.route ?? expect.fail("no way");
    expect(line).toContainEqual(to);
    expect(returns).toBe(true);
    expect(line[0]).toEqual(line.at(-1));
    expect(length).toBeCloseTo(
      line.reduce((sum, p, i) => (i === 0 ? 0 : sum + distanceM(line[i - 1] as XY, p)), 0),
      6,
    );
    // No leg goes through the pond: every point of it, a metre apart, lies outside a pond smaller by a hair.
    const inner = [
      [ringOf([at.x - 7.9, at.y - 7.9], [at.x + 7.9, at.y - 7.9], [at.x + 7.9, at.y + 7.9], [at.x - 7.9, at.y + 7.9])],
    ];
    line.slice(1).forEach((b, i) => {
      const a = line[i] as XY;
      const steps = Math.ceil(distanceM(a, b));
      for (let k = 0; k <= steps; k++) {
        const t = steps === 0 ? 0 : k / steps;
        expect(contains(inner, a.x + t * (b.x - a.x), a.y + t * (b.y - a.y))).toBe(false);
      }
    });
    // The time is that of the new way, told once.
    expect(codes(moved).filter((code) => code === "sampling/time")).toHaveLength(1);
    expect(moved.issues.find(({code}) => code === "sampling/time")?.message).not.toBe(
      before.issues.find(({code}) => code === "sampling/time")?.message,
    );
  });

  it("leaves plans without moves as they are", () => {
    const {plans, outcomes, issues} = move([]);
    expect(plans[0]).toBe(plan);
    expect([outcomes, issues]).toEqual([[], []]);
  });
});

describe("moves at random over random fields", () => {
  it("leave ids, grounds, acres and mark alone, every core in its own unit and out of keep-outs", () => {
    fc.assert(
      fc.property(fc.integer({min: 0, max: 10_000}), fc.integer({min: 1, max: 25}), (seed, count) => {
        const random = seededRandom(seed, "moves at random");
        const field = fieldOf(randomField(random));
        const anywhere = (): XY => pointAt(field.outline.flat(), random.next(), random.next());
        const keepOuts = [makeKeepOut("yard", {points: [anywhere()]}, metres(30))];
        const options: PlanOptions = {seed, keepOuts, ...(seed % 2 === 0 && {route: {rows: 20}, duplicates: 2})};
        const plans = [
          planWholeField(field, options),
          planGrid(field, options),
          planZones(field, bandedZones(field), options),
        ];
        const moves = Array.from({length: count}, (): CoreMove => {
          const plan = plans[random.integer(plans.length)] as SamplingPlan;
          const bags = [...plan.units, ...(plan.duplicates ?? [])];
          const bag = bags[random.integer(bags.length)] ?? expect.fail();
          return {bag: bag.id, number: 1 + random.integer(12), to: anywhere()};
        });
        const {plans: after, outcomes} = moveCores(field, plans, moves, options);
        expect(outcomes).toHaveLength(count);
        plans.forEach((before, p) => {
          const now = after[p] ?? expect.fail();
          expect(planMark(now)).toBe(planMark(before));
          expect(now.units.map(({id, label, area}) => ({id, label, area}))).toEqual(
            before.units.map(({id, label, area}) => ({id, label, area})),
          );
          // To rounding of sums: every acre is still in one unit.
          const all = now.units.reduce((sum, {shape}) => sum + areaM2(shape), 0);
          expect(all / areaM2(field.outline)).toBeCloseTo(1, 9);
          const bags = [...now.units.map((unit) => ({...unit, of: unit.id})), ...(now.duplicates ?? [])];
          for (const {id, of, cores} of bags) {
            const {shape} = now.units.find((unit) => unit.id === of) ?? expect.fail();
            const old = [...before.units, ...(before.duplicates ?? [])].find((bag) => bag.id === id);
            expect(cores.map(({number}) => number)).toEqual(old?.cores.map(({number}) => number));
            for (const core of cores) {
              const asked = outcomes.findIndex(({core: name, applied}) => applied && name === `${id}-${core.number}`);
              expect(core.movedFrom !== undefined).toBe(asked >= 0);
              if (asked < 0) continue;
              expect(core).toMatchObject(moves[asked]?.to ?? {});
              expect(contains(shape, core.x, core.y)).toBe(true);
              expect(keepOuts.some((one) => contains(one.shape, core.x, core.y))).toBe(false);
            }
          }
          if (now.route) {
            const places = new Set(now.route.line.map(({x, y}) => `${x},${y}`));
            for (const {cores} of bags) for (const {x, y} of cores) expect(places.has(`${x},${y}`)).toBe(true);
          }
        });
      }),
      {numRuns: 25},
    );
  }, 60_000);
});

describe("a job with moves", () => {
  const folder = new URL("../../sample-data/kiln-forty/", import.meta.url).pathname;
  const sample = JSON.parse(readFileSync(`${folder}job.json`, "utf8"));
  /** The sample farm's small field without zones, its lab results held to the plans they were taken by. */
  const jobWith = (moves: unknown, plans: Record<string, string> = {}) => {
    const {layers: _layers, zones: _zones, lab, sampling, ...rest} = sample;
    const files = lab.files.filter(({file}: {file: string}) => !file.includes("zone"));
    return readJob(
      JSON.stringify({
        ...rest,
        strategies: ["whole-field", "grid"],
        sampling: {...sampling, moves},
        lab: {files, plans},
      }),
      "job.json",
    );
  };
  const run = async (moves: unknown, plans?: Record<string, string>) => {
    const job = jobWith(moves, plans);
    const host = nodeHost(true);
    try {
      const {files} = loadFiles(folder, filesOf(job));
      return {result: await runJob(job, files, host), papers: await runSampling(job, files, host)};
    } finally {
      host.done();
    }
  };
  const text = (outputs: ReadonlyMap<string, Uint8Array>, name: string) =>
    new TextDecoder().decode(outputs.get(name) ?? expect.fail(`no ${name}`));
  const coreIn = (outputs: ReadonlyMap<string, Uint8Array>, id: string) =>
    JSON.parse(text(outputs, "plan-grid-cores.geojson")).features.find((one: {id: string}) => one.id === id) ??
    expect.fail(`no core ${id}`);

  it("carries the core to every file of the plan and keeps its lab results and rates", async () => {
    const before = await run(undefined);
    const marks = Object.fromEntries(before.papers.figures.map(({strategy, mark}) => [strategy, mark]));
    const from = coreIn(before.result.outputs, "KFG05-3").geometry.coordinates as [number, number];
    // Some 30 ft to the south: a cell of 2.5 ac has more room than that about any core.
    const to = [from[0], from[1] - 30 / 364_000];
    const after = await run([{core: "KFG05-3", from, to, reason: "manure"}], marks);
    expect(after.result.moves).toEqual([
      {
        number: 1,
        core: "KFG05-3",
        strategy: "grid",
        applied: true,
        sentence: expect.stringMatching(/^Moved 30 ft \(manure\)/),
      },
    ]);
    for (const {outputs} of [after.result, after.papers]) {
      const core = coreIn(outputs, "KFG05-3");
      // Files hold nine decimals of a degree.
      expect(core.geometry.coordinates[0]).toBeCloseTo(to[0] as number, 8);
      expect(core.geometry.coordinates[1]).toBeCloseTo(to[1] as number, 8);
      expect(core.properties.moved_ft).toBeCloseTo(30, 0);
    }
    const gpx = [...after.papers.outputs.keys()].find((name) => /grid.*\.gpx$/.test(name)) ?? expect.fail("no GPX");
    expect(text(after.papers.outputs, gpx)).not.toBe(text(before.papers.outputs, gpx));
    for (const name of [
      "rates-grid.geojson",
      "rates-whole-field.geojson",
      "plan-grid-units.geojson",
      "comparison.json",
    ]) {
      expect(text(after.result.outputs, name)).toBe(text(before.result.outputs, name));
    }
    expect(text(after.result.outputs, "plan-whole-field-cores.geojson")).toBe(
      text(before.result.outputs, "plan-whole-field-cores.geojson"),
    );
  });

  it("names bag and number apart as well as together, and runs on where a core is gone", async () => {
    const {result} = await run([
      {core: {unit: "KFG05", number: 3}, to: [0, 0]},
      {core: "KFG99-1", to: [-86.4, 40.55]},
    ]);
    expect(result.moves.map(({core, applied}) => [core, applied])).toEqual([
      ["KFG05-3", false],
      ["KFG99-1", false],
    ]);
    const said = result.issues.filter(({code}) => code === "sampling/move-left-out").map(({message}) => message);
    expect(said.join(" ")).toMatch(
      /KFG99-1 was not moved.*No plan has a bag KFG99.*KFG05-3 was not moved.*outside the field/,
    );
  });

  it("is refused where a move names no core or no place", () => {
    expect(() => jobWith([{core: "third core", to: [-86.4, 40.55]}])).toThrow(
      'core is "third core", which does not fit',
    );
    expect(() => jobWith([{core: "KFG05-3", to: [-186.4, 40.55]}])).toThrow(/^sampling\.moves\.0\.to/);
  });
});
