import {millrace} from "../../sample-data/make/farm.ts";
import {labReport} from "../../sample-data/make/lab-report.ts";
import {truthAt} from "../../sample-data/make/truth.ts";
import {judgeByHoldOuts, valuesAt} from "../../src/compare/hold-out.ts";
import {loadGeos} from "../../src/geo/geos.ts";
import {insideTest} from "../../src/geo/inside.ts";
import {boxOf} from "../../src/geo/measure.ts";
import type {XY} from "../../src/geo/shapes.ts";
import {planGrid} from "../../src/sampling/by-grid.ts";
import {planZones} from "../../src/sampling/by-zone.ts";
import type {SamplingPlan, Strategy} from "../../src/sampling/plan.ts";
import {planWholeField} from "../../src/sampling/whole-field.ts";
import {predictionError} from "../../src/stats/prediction-error.ts";
import {seededRandom} from "../../src/stats/random.ts";
import {bandedZones, fieldOf} from "../sampling/make-field.ts";

// How often the 90 % intervals from 16 hold-out composites hold each strategy's real error in soil-test P on Millrace:
// the error against 1,500 such composites. npx tsx tests/bench/hold-out-coverage.ts [days]

const days = Number(process.argv[2] ?? 200);
await loadGeos();
const field = fieldOf(millrace.outline, "Millrace");
const zones = bandedZones(field);
const inside = insideTest(millrace.outline);
const strategies: readonly Strategy[] = ["whole-field", "grid", "zone"];
const many = composites(1500, 1);
const hits = new Map<string, {mean: number; rmse: number}>();

for (let day = 1; day <= days; day++) {
  const plans = [
    planWholeField(field, {seed: day}),
    planGrid(field, {seed: day}),
    planZones(field, zones, {seed: day}),
  ];
  const parts = plans.map((plan) => predictorOf(plan, day));
  const few = composites(16, 1000 + day);
  const predict = (places: readonly XY[]) => parts.map((own) => valuesAt(own, places));
  const real = predict(many.places).map((predicted) => predictionError(predicted, many.found));
  const judged = judgeByHoldOuts({
    what: "soil-test P",
    unit: "ppm",
    found: few.found,
    strategies: predict(few.places).map((predicted, s) => ({strategy: strategies[s] ?? "grid", predicted})),
    baseline: "whole-field",
    draws: 500,
    seed: day,
  });
  judged.strategies.forEach(({strategy, meanErrorInterval: mean, rootMeanSquareErrorInterval: rmse}, s) => {
    const so = hits.get(strategy) ?? {mean: 0, rmse: 0};
    const truth = real[s];
    if (!truth) return;
    hits.set(strategy, {
      mean: so.mean + Number(mean.low <= truth.meanError && truth.meanError <= mean.high),
      rmse: so.rmse + Number(rmse.low <= truth.rootMeanSquareError && truth.rootMeanSquareError <= rmse.high),
    });
  });
}
for (const [strategy, {mean, rmse}] of hits) {
  console.log(
    `${strategy.padEnd(12)} mean error ${((100 * mean) / days).toFixed(1)} %  typical error ${((100 * rmse) / days).toFixed(1)} %`,
  );
}

/** P of each unit, or the field's mean on every unit of a pooled plan. */
function predictorOf(plan: SamplingPlan, seed: number) {
  const read = readP(plan.units, seed);
  const area = plan.units.reduce((sum, unit) => sum + unit.area, 0);
  const mean = plan.units.reduce((sum, unit, i) => sum + (read[i] ?? 0) * (unit.area / area), 0);
  return plan.units.map(({shape}, i) => ({shape, value: plan.pooled ? mean : (read[i] ?? 0)}));
}

/** Composites of ten cores in circles of 15 ft, thrown at random over the field. */
function composites(count: number, seed: number): {places: XY[]; found: number[]} {
  const random = seededRandom(seed, "hold-outs");
  const {west, south, east, north} = boxOf(millrace.outline);
  const places: XY[] = [];
  while (places.length < count) {
    const place = {x: west + (east - west) * random.next(), y: south + (north - south) * random.next()};
    if (inside(place.x, place.y)) places.push(place);
  }
  const bags = places.map(({x, y}, i) => ({
    id: `H${i}`,
    cores: Array.from({length: 10}, () => {
      const [angle, radius] = [2 * Math.PI * random.next(), 4.57 * Math.sqrt(random.next())];
      return {x: x + radius * Math.cos(angle), y: y + radius * Math.sin(angle)};
    }),
  }));
  return {places, found: readP(bags, seed)};
}

function readP(bags: readonly {readonly id: string; readonly cores: readonly XY[]}[], seed: number): number[] {
  const rows = labReport((x, y) => truthAt(millrace, x, y), bags, seed)
    .trim()
    .split("\n")
    .slice(1);
  return rows.map((row) => Number(row.split(",")[6]));
}
