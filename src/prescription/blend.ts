import {FieldError, type Issue} from "../errors.ts";
import type {WorkingStep} from "../recommend/recommendation.ts";
import {formatShort as n} from "../units/format.ts";
import type {Nutrient} from "../units/nutrient.ts";
import {bulkDensity} from "./bulk-density.ts";
import {cheapestMix} from "./cheapest-mix.ts";
import type {Product} from "./prescription.ts";

export interface BlendInput {
  readonly unit: string;
  /** lb per acre that must be met exactly; nutrients not named ride along as they come. */
  readonly want: Readonly<Partial<Record<Nutrient, number>>>;
  readonly products: readonly Product[];
  /** What a pound of nitrogen that rides along saves elsewhere, dollars; 0 counts it as worth nothing. */
  readonly nitrogenPerLb?: number;
}

export interface Blend {
  readonly unit: string;
  /** Each product in use, in the order given. */
  readonly parts: readonly {readonly product: Product; readonly lbPerAcre: number}[];
  readonly lbPerAcre: number;
  /** Every nutrient in the mix, lb per acre. */
  readonly nutrients: Readonly<Record<Nutrient, number>>;
  /** Percent by weight, as a label would have it; zeros for an empty mix. */
  readonly analysis: Readonly<Record<Nutrient, number>>;
  /** Dollars per acre for the products, and less the worth of nitrogen; absent when a product in use has no price. */
  readonly cost?: {readonly products: number; readonly afterNitrogen: number};
  /** Cubic feet per acre; absent when the weight of a product is not known. */
  readonly cubicFeetPerAcre?: number;
  readonly working: readonly WorkingStep[];
  readonly issues: readonly Issue[];
}

/**
 * The cheapest mix of products that gives exactly the wanted nutrients: never less, never more.
 *
 * With a price for every product the mix costs least after the worth of the nitrogen in it; else it is the lightest.
 * Nitrogen is always counted and told, because it belongs in the nitrogen plan.
 *
 * @throws {FieldError} `blend/cannot-be-met` when no mix gives the wanted nutrients exactly, `blend/bad-amount`,
 *   `blend/bad-price`.
 */
export function blend({unit, want, products, nitrogenPerLb = 0}: BlendInput): Blend {
  const wanted = (Object.keys(want) as Nutrient[]).filter((nutrient) => want[nutrient] !== undefined);
  checkAmounts(unit, want, wanted, nitrogenPerLb);
  const priced = products.every(({pricePerLb}) => pricePerLb !== undefined);
  const amounts = cheapestMix(
    wanted.map((nutrient) => want[nutrient] as number),
    products.map((product) => ({
      cost: priced ? (product.pricePerLb as number) - share(product, "N") * nitrogenPerLb : 1,
      holds: wanted.map((nutrient) => share(product, nutrient)),
    })),
  );
  if (!amounts) throw cannotBeMet(unit, want, wanted, products);
  const parts = products.flatMap((product, i) =>
    (amounts[i] as number) > 0 ? [{product, lbPerAcre: amounts[i] as number}] : [],
  );
  const lbPerAcre = parts.reduce((sum, part) => sum + part.lbPerAcre, 0);
  const total = (nutrient: Nutrient): number =>
    parts.reduce((sum, part) => sum + part.lbPerAcre * share(part.product, nutrient), 0);
  const nutrients = {N: total("N"), P2O5: total("P2O5"), K2O: total("K2O")};
  const percent = (lb: number): number => (lbPerAcre > 0 ? (100 * lb) / lbPerAcre : 0);
  const cost = costOf(parts, nutrients.N, nitrogenPerLb);
  const volume = volumeOf(parts);
  return {
    unit,
    parts,
    lbPerAcre,
    nutrients,
    analysis: {N: percent(nutrients.N), P2O5: percent(nutrients.P2O5), K2O: percent(nutrients.K2O)},
    ...(cost && {cost}),
    ...(volume !== undefined && {cubicFeetPerAcre: volume}),
    working: workingOf(parts, wanted, nutrients, lbPerAcre, volume),
    issues: remarks(unit, nutrients.N, wanted, priced, products),
  };
}

const share = ({percent}: Product, nutrient: Nutrient): number => percent[nutrient] / 100;

type Parts = Blend["parts"];

function costOf(parts: Parts, nitrogen: number, nitrogenPerLb: number): Blend["cost"] {
  if (parts.some(({product}) => product.pricePerLb === undefined)) return undefined;
  const products = parts.reduce((sum, {product, lbPerAcre}) => sum + lbPerAcre * (product.pricePerLb as number), 0);
  return {products, afterNitrogen: products - nitrogen * nitrogenPerLb};
}

function volumeOf(parts: Parts): number | undefined {
  const volumes = parts.map(({product, lbPerAcre}) => lbPerAcre / (bulkDensity(product.analysis) ?? Number.NaN));
  const sum = volumes.reduce((total, volume) => total + volume, 0);
  return Number.isNaN(sum) ? undefined : sum;
}

function workingOf(
  parts: Parts,
  wanted: readonly Nutrient[],
  nutrients: Blend["nutrients"],
  lbPerAcre: number,
  volume: number | undefined,
): WorkingStep[] {
  const line = (text: string, value: number, unit: string): WorkingStep => ({
    text,
    value,
    unit,
    source: "analysis of the products",
    basis: "arithmetic",
  });
  const steps = parts.map(({product, lbPerAcre: lb}) => line(`${product.name} ${product.analysis}`, lb, "lb/ac"));
  for (const nutrient of ["N", "P2O5", "K2O"] as const) {
    const terms = parts
      .filter(({product}) => product.percent[nutrient] > 0)
      .map(({product, lbPerAcre: lb}) => `${n(lb, 1)} × ${n(share(product, nutrient), 4)}`);
    if (terms.length === 0) continue;
    const rides = wanted.includes(nutrient) ? "" : ", which rides along";
    steps.push(line(`${nutrient}${rides}: ${terms.join(" + ")}`, nutrients[nutrient], `lb ${nutrient}/ac`));
  }
  if (parts.length > 1) steps.push(line("the mix", lbPerAcre, "lb/ac"));
  if (volume !== undefined && parts.length > 0) {
    steps.push({
      text: "loose volume",
      value: volume,
      unit: "ft³/ac",
      source: "usual weight of the products",
      basis: "printed",
    });
  }
  return steps;
}

function remarks(
  unit: string,
  nitrogen: number,
  wanted: readonly Nutrient[],
  priced: boolean,
  products: readonly Product[],
): Issue[] {
  const issues: Issue[] = [];
  if (nitrogen > 0 && !wanted.includes("N")) {
    issues.push({
      code: "blend/nitrogen-rides-along",
      severity: "note",
      message: `The mix for unit "${unit}" carries ${n(nitrogen, 1)} lb N/ac.`,
      place: {featureId: unit},
      hint: "Take it off the nitrogen plan.",
    });
  }
  if (!priced && products.length > 1) {
    issues.push({
      code: "blend/no-prices",
      severity: "note",
      message: `Not every product has a price: the lightest mix was taken for unit "${unit}", not the cheapest.`,
      place: {featureId: unit},
    });
  }
  return issues;
}

function checkAmounts(
  unit: string,
  want: BlendInput["want"],
  wanted: readonly Nutrient[],
  nitrogenPerLb: number,
): void {
  const bad = wanted.find((nutrient) => !((want[nutrient] as number) >= 0 && (want[nutrient] as number) < Infinity));
  if (bad) {
    throw new FieldError("blend/bad-amount", `A mix cannot hold ${want[bad]} lb ${bad}/ac.`, {
      place: {featureId: unit},
      hint: "Give lb per acre, from zero up.",
    });
  }
  if (!(nitrogenPerLb >= 0 && nitrogenPerLb < Infinity)) {
    throw new FieldError("blend/bad-price", `Nitrogen cannot be worth ${nitrogenPerLb} $/lb.`, {
      hint: "Give dollars per lb of N, from zero up.",
    });
  }
}

function cannotBeMet(
  unit: string,
  want: BlendInput["want"],
  wanted: readonly Nutrient[],
  products: readonly Product[],
): FieldError {
  const amounts = wanted.map((nutrient) => `${n(want[nutrient] as number, 1)} lb ${nutrient}`).join(" and ");
  const lacking = wanted.find(
    (nutrient) => (want[nutrient] as number) > 0 && products.every((product) => product.percent[nutrient] === 0),
  );
  const list = products.map(({analysis}) => analysis).join(", ") || "no product";
  return new FieldError(
    "blend/cannot-be-met",
    `No mix of ${list} gives exactly ${amounts} an acre in unit "${unit}".`,
    {
      place: {featureId: unit},
      hint: lacking ? `Add a product with ${lacking}.` : "Add a product that holds one of the nutrients alone.",
    },
  );
}
