import {FieldError} from "../errors.ts";
import type {Prescription} from "../prescription/prescription.ts";
import type {Strategy} from "../sampling/plan.ts";
import {SQUARE_METRES_PER_ACRE} from "../units/factors.ts";
import {formatArea} from "../units/format.ts";
import {acresByClass} from "./acres-by-class.ts";
import {bagsOf} from "./bags-of.ts";
import type {CompareInput, SamplingPrices, StrategyResult} from "./compare-input.ts";
import type {Comparison, ComparisonRow, ProductLine} from "./comparison.ts";
import {ledgerNotes} from "./ledger-notes.ts";

/**
 * Puts the strategies side by side: samples, product, nutrients, money, and acres by soil-test class.
 *
 * Says nothing about which strategy is right: no truth is known here, and no yield is credited to any.
 *
 * @throws {FieldError} `compare/no-strategy`, `compare/no-baseline`, `compare/strategy-twice`, `compare/areas-differ`
 *   when a plan or a prescription does not cover the field to 0.1 %, `compare/bad-price`.
 */
export function compareStrategies(input: CompareInput): Comparison {
  const {field, areaM2, strategies, baseline, prices = {}} = input;
  checkInput(input);
  const acres = areaM2 / SQUARE_METRES_PER_ACRE;
  const classes = acresByClass(strategies, input.classOrder ?? {});
  const bare = strategies.map((strategy, i) => rowOf(strategy, acres, prices, classes[i] as Classes));
  const base = bare.find((row) => row.strategy === baseline) as ComparisonRow;
  return {
    field,
    acres,
    baseline,
    rows: bare.map((row) => (row === base ? row : against(row, base))),
    notes: ledgerNotes(strategies, prices, input.notes ?? [], input.intervalsShown, input.pricesStandIn),
  };
}

type Classes = ComparisonRow["acresByClass"];

function checkInput({field, areaM2, strategies, baseline, prices = {}}: CompareInput): void {
  if (strategies.length === 0) {
    throw new FieldError("compare/no-strategy", `There is nothing to compare on ${field}.`, {
      hint: "Make at least one sampling plan.",
    });
  }
  const named = strategies.map(({plan}) => plan.strategy);
  const twice = named.find((strategy, i) => named.indexOf(strategy) !== i);
  if (twice) {
    throw new FieldError("compare/strategy-twice", `The strategy ${twice} stands twice in the comparison.`, {
      hint: "Compare one plan of each kind.",
    });
  }
  if (!named.includes(baseline)) {
    throw new FieldError("compare/no-baseline", `The baseline ${baseline} is not among ${named.join(", ")}.`, {
      hint: "Plan it too, or choose another baseline.",
    });
  }
  for (const {plan, prescriptions = []} of strategies) {
    const planned = plan.units.reduce((sum, unit) => sum + unit.area, 0);
    checkArea(`The ${plan.strategy} plan`, planned, areaM2, field);
    for (const {product, totals} of prescriptions) {
      checkArea(`The ${plan.strategy} prescription for ${product.analysis}`, totals.area, areaM2, field);
    }
  }
  const {crew = {}, ...single} = prices;
  for (const [name, price] of [...Object.entries(single), ...Object.entries(crew)]) {
    const least = name === "yearsServed" ? Number.MIN_VALUE : 0;
    if (price === undefined) continue;
    if (!(price >= least && price < Infinity)) {
      throw new FieldError("compare/bad-price", `A price of ${price} (${name}) cannot be counted with.`, {
        hint: "Give positive dollars, or leave the price out.",
      });
    }
  }
}

/** A part in a thousand is more than rounding of coordinates and less than a forgotten corner. */
function checkArea(what: string, foundM2: number, areaM2: number, field: string): void {
  if (Math.abs(foundM2 / areaM2 - 1) <= 1e-3) return;
  throw new FieldError(
    "compare/areas-differ",
    `${what} covers ${formatArea(foundM2)} of the ${formatArea(areaM2)} of ${field}.`,
    {
      hint: "Make plan and prescription again from the same boundary.",
    },
  );
}

function rowOf(result: StrategyResult, acres: number, prices: SamplingPrices, classes: Classes): ComparisonRow {
  const {plan, prescriptions = []} = result;
  const {samples, cores} = bagsOf(plan);
  const products = prescriptions.map((prescription) => productLine(prescription, acres));
  const productCost = products.length > 0 ? sumIfAll(products.map((line) => line.cost)) : undefined;
  const samplingCost = samplingCostOf(plan.strategy, samples, cores, acres, prices);
  const totalCost = sumIfAll([productCost, samplingCost]);
  return {
    strategy: plan.strategy,
    samples,
    cores,
    acresPerSample: acres / plan.units.length,
    products,
    ...(productCost !== undefined && {productCost}),
    ...(samplingCost !== undefined && {samplingCost}),
    ...(samplingCost !== undefined &&
      prices.yearsServed !== undefined && {samplingCostPerYear: samplingCost / prices.yearsServed}),
    ...(totalCost !== undefined && {totalCost}),
    acresByClass: classes,
  };
}

function productLine({product, nutrient, polygons, totals, shiftedLb}: Prescription, acres: number): ProductLine {
  const rates = polygons.map((polygon) => polygon.rateLbPerAcre);
  return {
    code: product.code,
    analysis: product.analysis,
    nutrient,
    meanLbPerAcre: totals.productLb / acres,
    minLbPerAcre: rates.reduce((a, b) => Math.min(a, b)),
    maxLbPerAcre: rates.reduce((a, b) => Math.max(a, b)),
    totalLb: totals.productLb,
    nutrientLb: nutrient === "lime" ? 0 : totals.nutrientLb[nutrient],
    nitrogenLb: totals.nutrientLb.N,
    shiftedLb,
    ...(product.pricePerLb !== undefined && {cost: totals.productLb * product.pricePerLb}),
  };
}

/** Undefined when no sampling price was given at all. */
function samplingCostOf(
  strategy: Strategy,
  samples: number,
  cores: number,
  acres: number,
  {labPerSample, perCore, zoneMakingPerAcre, crew}: SamplingPrices,
): number | undefined {
  if ([labPerSample, perCore, zoneMakingPerAcre, crew].every((price) => price === undefined)) return undefined;
  const zones = strategy === "zone" ? (zoneMakingPerAcre ?? 0) * acres : 0;
  return samples * (labPerSample ?? 0) + cores * (perCore ?? 0) + (crew?.[strategy] ?? 0) + zones;
}

/** The row with its differences from the baseline. Products are the same when analysis and purpose are. */
function against(row: ComparisonRow, base: ComparisonRow): ComparisonRow {
  const products = row.products.map((line): ProductLine => {
    const same = base.products.find((other) => other.analysis === line.analysis && other.nutrient === line.nutrient);
    return same ? {...line, differenceLb: line.totalLb - same.totalLb} : line;
  });
  const priced = row.totalCost !== undefined && base.totalCost !== undefined;
  return {...row, products, ...(priced && {differenceCost: (row.totalCost as number) - (base.totalCost as number)})};
}

function sumIfAll(parts: readonly (number | undefined)[]): number | undefined {
  let sum = 0;
  for (const part of parts) {
    if (part === undefined) return undefined;
    sum += part;
  }
  return sum;
}
