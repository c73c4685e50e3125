import {adviseSampling} from "../../src/compare/advise-sampling.ts";
import {breakEvens} from "../../src/compare/break-even.ts";
import {type CertaintyInput, certaintyOf, type NoisyStrategy} from "../../src/compare/certainty.ts";
import {compareStrategies} from "../../src/compare/compare-strategies.ts";
import {differenceMap} from "../../src/compare/difference-map.ts";
import {moneyOf} from "../../src/compare/money.ts";
import {OHIO_P_LIMITS, overAndUnder, poundsAbove} from "../../src/compare/over-and-under.ts";
import {payOff} from "../../src/compare/pay-off.ts";
import {type GroundNeed, redrawNeeds} from "../../src/compare/redraw-needs.ts";
import {type ProductRates, rememberRates} from "../../src/compare/remember-rates.ts";
import {USUAL_CURVES} from "../../src/compare/response-curve.ts";
import {priceByYield} from "../../src/compare/sensitivity.ts";
import {thinGrid} from "../../src/compare/thin-grid.ts";
import {judgedGround, type Yardstick} from "../../src/compare/yardstick.ts";
import {centroid} from "../../src/geo/measure.ts";
import type {UnitValue} from "../../src/lab/soil-test.ts";
import type {Job} from "../../src/pipeline/job.ts";
import {type PlannedProduct, productsOf} from "../../src/pipeline/make-prescriptions.ts";
import type {RunResult} from "../../src/pipeline/run.ts";
import {CAUTION} from "../../src/pipeline/run-record.ts";
import {VERSION} from "../../src/pipeline/version.ts";
import {machineRate} from "../../src/prescription/machine-rate.ts";
import {productLbFor} from "../../src/prescription/parse-product.ts";
import type {MachineLimits} from "../../src/prescription/prescription.ts";
import {findGuide} from "../../src/recommend/find-guide.ts";
import {recommend} from "../../src/recommend/recommend.ts";
import type {ReportModel, ReportRecord} from "../../src/report/report-model.ts";
import {SQUARE_METRES_PER_ACRE} from "../../src/units/factors.ts";

type ByUnit = ReadonlyMap<string, readonly UnitValue[]>;

/**
 * The whole of comparison and report put together for a run: the order of calls a pipeline makes.
 *
 * @param byPlan - Lab results of each plan by unit, as `resultsByPlan` gives them.
 */
export function modelOfRun(
  job: Job,
  run: RunResult,
  byPlan: readonly ByUnit[],
  record: Pick<ReportRecord, "inputs" | "steps" | "labSentences">,
): ReportModel {
  if (!job.rates) throw new Error("a report without rates");
  const {crops, guide: guideId} = job.rates;
  const guide = findGuide(guideId);
  const planned = productsOf(job);
  const limits: MachineLimits = {
    stepLbPerAcre: job.machine.step,
    minLbPerAcre: job.machine.min,
    maxLbPerAcre: job.machine.max,
    belowMin: job.machine.belowMin,
    outsideLbPerAcre: job.machine.outside,
  };
  // Only tests the rates hang on are re-drawn.
  const matter = guide.nutrients.flatMap((rule) => [rule.test.analyte, ...("cec" in rule && rule.cec ? ["CEC"] : [])]);
  const noisy = run.strategies.map(
    ({plan}, s): NoisyStrategy => ({
      strategy: plan.strategy,
      pooled: plan.pooled,
      units: plan.units.map(({id, area, cores}) => ({
        id,
        acres: area / SQUARE_METRES_PER_ACRE,
        cores: cores.length,
        values: Object.fromEntries(
          (byPlan[s]?.get(id) ?? [])
            .filter(({analyte}) => (matter as readonly string[]).includes(analyte))
            .map(({analyte, value}) => [analyte, value]),
        ),
      })),
    }),
  );

  /** One test of each kind carries method, unit and depth for re-drawn values. */
  const forms = new Map<string, UnitValue>();
  for (const values of byPlan.flatMap((byUnit) => [...byUnit.values()]).flat()) forms.set(values.analyte, values);
  const recommended = (
    values: Readonly<Record<string, number>>,
    unit: string,
    {nutrient}: PlannedProduct,
    factor = 1,
  ) => {
    const tests = Object.entries(values).flatMap(([analyte, value]) => {
      const form = forms.get(analyte);
      return form ? [{...form, value}] : [];
    });
    const [found] = recommend(guide, {
      unit,
      tests,
      crops: crops.map(({crop, yieldGoal}) => ({crop, yieldGoal: yieldGoal * factor})),
      options: {nutrients: [nutrient]},
    });
    if (!found) throw new Error(`no rate for ${nutrient}`);
    return found;
  };
  const evaluateWith = (factor: number): CertaintyInput["evaluate"] =>
    rememberRates(
      planned.map(
        (product): ProductRates => ({
          analytes: product.nutrient === "P2O5" ? ["P"] : ["K", "CEC"],
          evaluate: (values, unit) => {
            const {rateLbPerAcre, testClass} = recommended(values, unit, product, factor);
            const exact = productLbFor(product.product, product.nutrient, rateLbPerAcre);
            return {lbPerAcre: machineRate(exact, limits).rateLbPerAcre, testClass};
          },
        }),
      ),
    );
  const products = planned.map(({product, nutrient}) => ({
    code: product.code,
    analysis: product.analysis,
    nutrient,
    pricePerLb: product.pricePerLb,
  }));
  const certainty = certaintyOf({strategies: noisy, products, evaluate: evaluateWith(1), seed: job.seed});

  const baseline = run.comparison.baseline;
  const money = moneyOf(
    {areaM2: run.field.area, strategies: run.strategies, baseline},
    {
      year: job.prices?.year,
      prices: {labPerSample: job.prices?.lab, perCore: job.prices?.core, zoneMakingPerAcre: job.prices?.zoneMaking},
      samplingYears: job.prices?.yearsServed,
      applicationYears: crops.length,
    },
  );

  const yardstickAt = run.strategies.findIndex(({plan}) => plan.strategy === "grid");
  const yardstick = run.strategies[yardstickAt];
  const others = run.strategies.filter((strategy) => strategy !== yardstick);
  const gridUnits = yardstick?.plan.units ?? [];
  const parts = (of: (unit: string) => number): Yardstick<number> => ({
    kind: "parts",
    parts: gridUnits.map(({id, shape}) => ({shape, value: of(id)})),
  });
  const needOf = (unit: string, nutrient: string) =>
    yardstick?.recommendations.find((r) => r.unit === unit && r.nutrient === nutrient);
  const overUnder = planned.flatMap(({nutrient}, p) =>
    others.flatMap(({prescriptions}) => {
      const made = prescriptions[p];
      return made
        ? [
            overAndUnder(
              made,
              parts((unit) => needOf(unit, nutrient)?.rateLbPerAcre ?? Number.NaN),
            ),
          ]
        : [];
    }),
  );
  const phosphate = planned.findIndex(({nutrient}) => nutrient === "P2O5");
  const aboveLimits = run.strategies.flatMap(({prescriptions}) => {
    const made = prescriptions[phosphate];
    return made
      ? poundsAbove(
          made,
          parts((unit) => needOf(unit, "P2O5")?.test.value ?? Number.NaN),
          OHIO_P_LIMITS,
        )
      : [];
  });
  const differences = planned.flatMap((_, p) =>
    run.strategies.flatMap((mine, a) =>
      run.strategies.slice(0, a).flatMap((theirs) => {
        const [one, two] = [mine.prescriptions[p], theirs.prescriptions[p]];
        return one && two ? [differenceMap(one, two)] : [];
      }),
    ),
  );

  const index: Yardstick<number> = {kind: "parts", parts: gridUnits.map(({shape}, i) => ({shape, value: i}))};
  const needs = new Map<string, GroundNeed>();
  const truths = redrawNeeds(
    noisy[yardstickAt] as NoisyStrategy,
    (values, unit) =>
      planned.map((product) => {
        const key = `${product.nutrient} ${product.nutrient === "P2O5" ? values.P : `${values.K} ${values.CEC}`}`;
        const known = needs.get(key);
        if (known) return known;
        const {rateLbPerAcre, test} = recommended(values, unit, product);
        const made = {test: test.value, needLbPerAcre: rateLbPerAcre};
        needs.set(key, made);
        return made;
      }),
    {seed: job.seed},
  );
  const pay = payOff({
    acres: run.comparison.acres,
    products: planned.map(({product, nutrient}) => ({
      analysis: product.analysis,
      nutrient,
      share: product.percent[nutrient] / 100,
      pricePerLb: product.pricePerLb ?? 0,
      curve: USUAL_CURVES.find((curve) => curve.nutrient === nutrient) ?? "off",
    })),
    strategies: run.strategies.map(({plan, prescriptions}, s) => ({
      strategy: plan.strategy,
      samplingPerYear: money.strategies[s]?.samplingPerYear ?? 0,
      applicationPerYear: money.strategies[s]?.applicationPerYear ?? 0,
      ground: prescriptions.map(({polygons}) => judgedGround(polygons, index)),
    })),
    baseline,
    yardstick: "grid",
    truths,
    crops: [
      {crop: "corn", yieldGoal: 195, pricePerUnit: 4.2},
      {crop: "soybean", yieldGoal: 58, pricePerUnit: 10.5},
    ],
    applicationYears: crops.length,
  });
  const samples = Object.fromEntries(run.strategies.map(({plan}) => [plan.strategy, plan.units.length]));
  const centres = gridUnits.map(({shape}) => centroid(shape));
  const thinned = ["P", "K"].map((analyte) =>
    thinGrid({
      what: `soil-test ${analyte}`,
      unit: "ppm",
      x: Float64Array.from(centres, ({x}) => x),
      y: Float64Array.from(centres, ({y}) => y),
      values: Float64Array.from(noisy[yardstickAt]?.units ?? [], ({values}) => values[analyte] ?? Number.NaN),
      areasM2: [5, 10].map((acres) => acres * SQUARE_METRES_PER_ACRE),
      seed: job.seed,
    }),
  );
  return {
    farm: job.farm,
    field: run.field.name,
    acres: run.comparison.acres,
    crops: crops.map(({crop, yieldGoal}) => `${crop} ${yieldGoal} bu/ac`).join(", then "),
    outline: run.field.outline,
    strategies: run.strategies,
    comparison: compareStrategies({
      field: run.field.name,
      areaM2: run.field.area,
      strategies: run.strategies,
      baseline,
      ...(job.prices && {
        prices: {
          year: job.prices.year,
          labPerSample: job.prices.lab,
          perCore: job.prices.core,
          zoneMakingPerAcre: job.prices.zoneMaking,
          yearsServed: job.prices.yearsServed,
        },
      }),
      intervalsShown: true,
    }),
    certainty,
    advice: adviseSampling({baseline, samples, certainty, thinned, pay}),
    money,
    differences,
    overUnder,
    aboveLimits,
    thinned,
    pay,
    breakEvens: breakEvens(
      money,
      samples,
      products.map(({analysis, pricePerLb = 0}) => ({analysis, pricePerLb})),
      {crop: "corn", pricePerUnit: 4.2},
      pay,
    ),
    sensitivity: priceByYield((factor) => {
      const at = certaintyOf({strategies: noisy, products, evaluate: evaluateWith(factor), draws: 20, seed: 1});
      return at.strategies.map(({strategy, products: totals}) => ({
        strategy,
        products: totals.map(({analysis, totalLb}, p) => ({analysis, totalLb, pricePerLb: products[p]?.pricePerLb})),
      }));
    }),
    issues: run.issues,
    record: {program: {name: "Loamwright", version: VERSION}, seed: job.seed, options: job, ...record},
    caution: CAUTION,
  };
}
