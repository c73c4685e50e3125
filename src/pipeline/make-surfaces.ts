import {FieldError, type Issue} from "../errors.ts";
import type {Field} from "../geo/field.ts";
import {boxOf, centroid} from "../geo/measure.ts";
import type {XY} from "../geo/shapes.ts";
import {gridOver} from "../grid/grid.ts";
import type {Layer} from "../grid/layer.ts";
import {maskOf} from "../grid/rasterize.ts";
import type {UnitValue} from "../lab/soil-test.ts";
import {type Interpolated, interpolatePoints} from "../layers/interpolate/interpolate-points.ts";
import {exactRates} from "../prescription/exact-rates.ts";
import type {RatedGround} from "../prescription/rated-ground.ts";
import {surfaceGround} from "../prescription/surface-ground.ts";
import {type GridRates, gridRates} from "../recommend/grid-rates.ts";
import type {SamplingPlan, SamplingUnit} from "../sampling/plan.ts";
import {SQUARE_METRES_PER_ACRE} from "../units/factors.ts";
import {formatNumber, formatShort} from "../units/format.ts";
import type {Nutrient} from "../units/nutrient.ts";
import type {Job} from "./job.ts";
import {limitsOf, mixingOf, type PlannedProduct} from "./make-prescriptions.ts";
import {cropsOf, type RatesSetting} from "./make-rates.ts";
import {policyOf, type Rates, recommendOptions} from "./rate-options.ts";

/** Rates between samples need no finer cells: no spreader follows them. Metres. */
const LEAST_CELL_M = 10;
/** Rates a surface is drawn with where the machine has no number of them. An assumption. */
const USUAL_LEVELS = 8;
const USUAL_LEAST_M2 = 0.5 * SQUARE_METRES_PER_ACRE;
const FEWEST_PLACES = 3;

/**
 * A grid plan's rates between its samples: tests interpolated from where their cores lie, the guide asked on every cell, and
 * the rates drawn as ground a machine can treat.
 *
 * @returns undefined for other plans, and where fewer than three places have a result; with a remark why.
 * @throws {FieldError} `rates/between-by-unit` where the job sets something for single units or zones, which cells
 *   cannot know; those of `interpolatePoints` and `gridRates`.
 */
export function surfaceOf(
  job: Job,
  field: Field,
  setting: RatesSetting,
  plan: SamplingPlan,
  values: ReadonlyMap<string, readonly UnitValue[]>,
  products: readonly PlannedProduct[],
  remarks: Issue[],
): RatedGround[] | undefined {
  const {rates} = setting;
  if (rates.between !== "interpolated" || products.length === 0) return undefined;
  refuseUnitSettings(rates);
  if (plan.pooled) return undefined;
  if (plan.strategy !== "grid") {
    remarks.push({
      code: "rates/not-between",
      severity: "note",
      message: `Rates of the ${plan.strategy} plan stay those of its units: a composite speaks for all of its unit, not for a place to interpolate from.`,
    });
    return undefined;
  }
  const grid = gridOver(field.frame, boxOf(field.outline), Math.max(LEAST_CELL_M, job.layers.cellSize), 0);
  const ground = {grid, mask: maskOf(grid, field.outline)};
  const nutrients = [...new Set(products.map(({nutrient}) => nutrient))];
  const made = new Map<Nutrient, {between: Interpolated; rates: GridRates}>();
  for (const nutrient of nutrients) {
    const found = nutrientSurface(job, setting, plan, values, nutrient, ground);
    if (!found) {
      remarks.push({
        code: "rates/too-few-places",
        severity: "warning",
        message: `The ${plan.strategy} plan has too few places with a test for ${nutrient} to interpolate: its rates stay those of its units.`,
      });
      return undefined;
    }
    made.set(nutrient, found);
  }
  const limits = limitsOf(job);
  const cells = ground.mask.length;
  const needs = products.map(({nutrient}) => made.get(nutrient)?.rates.rate.values as Float64Array);
  const exact = products.map(() => new Float64Array(cells).fill(Number.NaN));
  const mixing = mixingOf(rates);
  for (let cell = 0; cell < cells; cell++) {
    if (!ground.mask[cell]) continue;
    const here = needs.map((need) => need[cell] as number);
    exactRates(products, here, mixing, "a cell").forEach((lb, p) => {
      (exact[p] as Float64Array)[cell] = lb;
    });
  }
  const text = mixing ? "the mix for interpolated tests" : "rate of interpolated tests";
  const drawn = surfaceGround({
    outline: field.outline,
    area: plan.units.reduce((sum, {area}) => sum + area, 0),
    grid,
    exact,
    nutrient: needs,
    limits: products.map(() => limits),
    levels: job.machine.levels ?? USUAL_LEVELS,
    leastAreaM2: job.machine.merge?.minArea ?? USUAL_LEAST_M2,
    text,
    source: `${setting.guide.cite}, ${[...made.values()].map(({between}) => between.method).join(" and ")}`,
  });
  for (const [nutrient, {between, rates: found}] of made) remarks.push(...surfaceIssues(nutrient, between, found));
  remarks.push(drawnIssue(plan, drawn.ground.length, drawn.levels));
  return drawn.ground;
}

function nutrientSurface(
  job: Job,
  {rates, guide}: RatesSetting,
  plan: SamplingPlan,
  values: ReadonlyMap<string, readonly UnitValue[]>,
  nutrient: Nutrient,
  {grid, mask}: {readonly grid: Layer["grid"]; readonly mask: Uint8Array},
): {between: Interpolated; rates: GridRates} | undefined {
  const rule = guide.nutrients.find((one) => one.nutrient === nutrient);
  if (!rule) return undefined;
  const places = (analyte: string) =>
    plan.units.flatMap((unit) => {
      const test = values.get(unit.id)?.find((value) => value.analyte === analyte);
      return test ? [{...placeOf(unit), test}] : [];
    });
  const interpolate = (analyte: string): {map: Interpolated; test: UnitValue} | undefined => {
    const found = places(analyte);
    const test = found[0]?.test;
    if (!test || found.length < FEWEST_PLACES) return undefined;
    const of = (pick: (place: (typeof found)[number]) => number): Float64Array => Float64Array.from(found, pick);
    const points = {
      id: `${plan.strategy}-${analyte}`,
      label: `soil-test ${analyte}`,
      unit: test.unit,
      x: of(({x}) => x),
      y: of(({y}) => y),
      values: of((place) => place.test.value),
    };
    // Every acre gets a rate, however far from a sample.
    return {map: interpolatePoints(points, grid, mask, {withinM: Infinity, seed: job.seed}), test};
  };
  const tested = interpolate(rule.test.analyte);
  if (!tested) return undefined;
  const cec = "cec" in rule && rule.cec && rates.cec === undefined ? interpolate("CEC") : undefined;
  const {analyte, unit, method, depthM} = tested.test;
  const {standardError} = tested.map;
  return {
    between: tested.map,
    rates: gridRates(guide, {
      nutrient,
      test: tested.map.layer,
      testFacts: {analyte, unit, method, depthM},
      ...(standardError && {testError: standardError}),
      ...(cec && {cec: cec.map.layer}),
      crops: cropsOf(rates, "cell", undefined, []),
      options: recommendOptions(rates, [nutrient]),
      policy: policyOf(rates),
    }),
  };
}

/** Where a composite speaks from: the middle of its cores, or of its unit where none are planned. */
function placeOf({cores, shape}: SamplingUnit): XY {
  if (cores.length === 0) return centroid(shape);
  const mean = (pick: (core: XY) => number): number => cores.reduce((sum, core) => sum + pick(core), 0) / cores.length;
  return {x: mean(({x}) => x), y: mean(({y}) => y)};
}

function surfaceIssues(
  nutrient: Nutrient,
  {method, why, layer}: Interpolated,
  {certainty, issues}: GridRates,
): Issue[] {
  const sure = certainty && [...certainty.values].filter((value) => !Number.isNaN(value));
  const mean = sure && sure.length > 0 ? sure.reduce((sum, value) => sum + value, 0) / sure.length : undefined;
  const said =
    mean === undefined
      ? "How sure the class of a spot is, this method does not say."
      : `On average a spot is in the class it was given with ${formatNumber(100 * mean)} % probability.`;
  return [
    {
      code: "rates/interpolated",
      severity: "note",
      message: `Rates of ${nutrient} follow ${layer.label}, interpolated by ${method}: ${why} ${said}`,
    },
    ...issues,
  ];
}

function drawnIssue({strategy}: SamplingPlan, polygons: number, levels: number): Issue {
  return {
    code: "rates/surface-drawn",
    severity: "note",
    message: `The rates of the ${strategy} plan are drawn as ${formatShort(polygons)} polygons, from at most ${levels} rates of each product; each gets the mean of its cells.`,
  };
}

function refuseUnitSettings({crops, goals, policy}: Rates): void {
  const single =
    goals !== "as given" ||
    policy.overrides.length > 0 ||
    policy.credits.some((credit) => "byUnit" in credit && credit.byUnit !== undefined) ||
    crops.some(({byUnit, byZone}) => Object.keys(byUnit).length + Object.keys(byZone).length > 0);
  if (!single) return;
  throw new FieldError(
    "rates/between-by-unit",
    "Rates are to be interpolated, and the job sets goals, credits or rates for single units.",
    {hint: 'Set "between" to "units", or leave those settings out.'},
  );
}
