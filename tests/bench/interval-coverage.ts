import {millrace} from "../../sample-data/make/farm.ts";
import {labReport} from "../../sample-data/make/lab-report.ts";
import {truthAt} from "../../sample-data/make/truth.ts";
import {certaintyOf, type NoisyStrategy} from "../../src/compare/certainty.ts";
import {type AnalyteNoise, noiseFromDuplicates} from "../../src/compare/composite-noise.ts";
import {loadGeos} from "../../src/geo/geos.ts";
import {insideTest} from "../../src/geo/inside.ts";
import {areaM2, boxOf} from "../../src/geo/measure.ts";
import {planGrid} from "../../src/sampling/by-grid.ts";
import {planZones} from "../../src/sampling/by-zone.ts";
import type {SamplingPlan} from "../../src/sampling/plan.ts";
import {planWholeField} from "../../src/sampling/whole-field.ts";
import {SQUARE_METRES_PER_ACRE} from "../../src/units/factors.ts";
import {PRODUCTS, spreadRates} from "../compare/spread-rates.ts";
import {bandedZones, fieldOf} from "../sampling/make-field.ts";

// How often the 90 % intervals of the totals hold the total that error-free sampling of the same units would give, over
// re-drawn sampling days of Millrace, whose soil is known everywhere: npx tsx tests/bench/interval-coverage.ts [days]
// A whole-field rate far from every limit has an interval of no width, and rightly so.

type Values = Record<string, number>;
type Noise = Record<string, AnalyteNoise>;

const ANALYTES = ["P", "K", "CEC"];
const days = Number(process.argv[2] ?? 200);
await loadGeos();
const field = fieldOf(millrace.outline, "Millrace");
const zones = bandedZones(field);
const evaluate = spreadRates();
const plans = plansOn(1);
const aims = plans.map((plan) => totalsOf(plan, trueMeans(plan)));
const noises: Record<string, (plan: number) => Noise | undefined> = {
  assumed: () => undefined,
  "10 duplicates": remembered((plan) => duplicates(plan, 1, 10)),
  "as it is": remembered((plan) => duplicates(plan, 12, 1000)),
};
const tallies = Object.keys(noises).map((name) => ({
  name,
  rows: plans.flatMap((plan, s) =>
    PRODUCTS.map(({code}, p) => ({plan, s, p, code, hits: 0, width: 0, total: 0, aim: aims[s]?.[p] ?? Number.NaN})),
  ),
}));

let slowest = 0;
for (let day = 1; day <= days; day++) {
  const today = plansOn(day);
  const results = today.map((plan) => sampled(plan, 100_000 + day));
  for (const {name, rows} of tallies) {
    const strategies = today.map((plan, s) => strategyOf(plan, results[s] ?? [], noises[name]?.(s)));
    const started = performance.now();
    const certainty = certaintyOf({strategies, products: PRODUCTS, evaluate, draws: 200, seed: day});
    slowest = Math.max(slowest, performance.now() - started);
    for (const row of rows) {
      const total = certainty.strategies[row.s]?.products[row.p];
      if (!total) continue;
      const {low, high} = total.totalLbInterval;
      if (low - 1e-6 <= row.aim && row.aim <= high + 1e-6) row.hits += 1;
      row.width += (high - low) / days;
      row.total += total.totalLb / days;
    }
  }
}

console.log(`${days} days. Slowest certaintyOf of the three, 200 draws: ${slowest.toFixed(0)} ms`);
for (const {name, rows} of tallies) {
  console.log(`\nnoise ${name}`);
  for (const {plan, code, hits, width, total, aim} of rows) {
    const cells = [aim, total, width].map((lb) => lb.toFixed(0).padStart(8));
    const covered = `${((100 * hits) / days).toFixed(1)} %`.padStart(8);
    console.log(
      `${plan.strategy.padEnd(12)} ${String(plan.units.length).padStart(3)} ${code} ${cells.join(" ")} ${covered}`,
    );
  }
}

function plansOn(seed: number): SamplingPlan[] {
  return [
    planWholeField(field, {seed, cores: 15}),
    planGrid(field, {seed, cores: 10}),
    planZones(field, zones, {seed, cores: 15}),
  ];
}

function truth(x: number, y: number) {
  return truthAt(millrace, x, y);
}

/** Results by unit as the lab reads them. */
function sampled(plan: SamplingPlan, seed: number): Values[] {
  const rows = labReport(truth, plan.units, seed).trim().split("\n").slice(1);
  return rows.map((row) => {
    const [, , , , , CEC = 0, P = 0, K = 0] = row.split(",").map(Number);
    return {P, K, CEC};
  });
}

function strategyOf(plan: SamplingPlan, values: readonly Values[], noise?: Noise): NoisyStrategy {
  return {
    strategy: plan.strategy,
    pooled: plan.pooled,
    units: plan.units.map(({id, area, cores}, i) => ({
      id,
      acres: area / SQUARE_METRES_PER_ACRE,
      cores: cores.length,
      values: values[i] ?? {},
    })),
    ...(noise && {noise}),
  };
}

function totalsOf(plan: SamplingPlan, values: readonly Values[]): number[] {
  const strategies = [strategyOf(plan, values)];
  const [only] = certaintyOf({strategies, products: PRODUCTS, evaluate, draws: 20, seed: 1}).strategies;
  return (only?.products ?? []).map(({totalLb}) => totalLb);
}

/** What pairs of bags of the same units tell of the noise: `days` pairs of days, at most `units` units each. */
function duplicates(s: number, count: number, units: number): Noise {
  const days = Array.from({length: count}, (_, i) =>
    [2 * i + 5001, 2 * i + 5002].map((seed) => sampled(plansOn(seed)[s] as SamplingPlan, seed)),
  );
  const pairs = (analyte: string) =>
    days.flatMap(([a = [], b = []]) =>
      a.slice(0, units).map((values, u): [number, number] => [values[analyte] ?? 0, b[u]?.[analyte] ?? 0]),
    );
  return Object.fromEntries(ANALYTES.map((analyte) => [analyte, noiseFromDuplicates(pairs(analyte))]));
}

function remembered<T>(make: (s: number) => T): (s: number) => T {
  const made = plans.map((_, s) => make(s));
  return (s) => made[s] as T;
}

/** Means of the hidden truth over each unit, on a net of 6 m or finer. */
function trueMeans(plan: SamplingPlan): Values[] {
  return plan.units.map(({shape}) => {
    const box = boxOf(shape);
    const inside = insideTest(shape);
    const step = Math.min(6, Math.sqrt(areaM2(shape)) / 20);
    const sums = {P: 0, K: 0, CEC: 0};
    let count = 0;
    for (let y = box.south + step / 2; y < box.north; y += step) {
      for (let x = box.west + step / 2; x < box.east; x += step) {
        if (!inside(x, y)) continue;
        const {pPpm, kPpm, cecMeq} = truth(x, y);
        sums.P += pPpm;
        sums.K += kPpm;
        sums.CEC += cecMeq;
        count++;
      }
    }
    return {P: sums.P / count, K: sums.K / count, CEC: sums.CEC / count};
  });
}
