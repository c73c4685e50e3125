import type {Issue} from "../errors.ts";
import type {WorkingStep} from "../recommend/recommendation.ts";
import {formatNumber, formatShort} from "../units/format.ts";
import type {Nutrient} from "../units/nutrient.ts";
import {many, someOf} from "./count-words.ts";
import {type MachineRate, machineRate} from "./machine-rate.ts";
import {productLbFor} from "./parse-product.ts";
import type {MachineLimits, Product, RateShift, UnitRate} from "./prescription.ts";

/** One unit's product rate and its working, from its nutrient rate. */
export function unitRate(
  unit: Pick<UnitRate, "unit" | "polygons" | "acres">,
  nutrientLbPerAcre: number,
  product: Product,
  nutrient: Nutrient,
  limits: MachineLimits,
): UnitRate {
  const exactLbPerAcre = productLbFor(product, nutrient, nutrientLbPerAcre);
  const machine = machineRate(exactLbPerAcre, limits);
  return {
    ...unit,
    nutrientLbPerAcre,
    exactLbPerAcre,
    ...machine,
    working: workingOf(nutrientLbPerAcre, exactLbPerAcre, machine, product, nutrient, limits),
  };
}

/** What rounding and limits moved over the field, lb. */
export function shiftOver(rates: readonly UnitRate[]): RateShift {
  let roundingLb = 0;
  let minimumLb = 0;
  let maximumLb = 0;
  for (const rate of rates) {
    const held = rate.acres * (rate.rateLbPerAcre - rate.roundedLbPerAcre);
    roundingLb += rate.acres * (rate.roundedLbPerAcre - rate.exactLbPerAcre);
    if (rate.heldBy === "minimum") minimumLb += held;
    if (rate.heldBy === "maximum") maximumLb += held;
  }
  return {roundingLb, minimumLb, maximumLb};
}

/** Names the units a limit moved, and by how many lb against the guide. */
export function heldIssues(rates: readonly UnitRate[], product: Product, limits: MachineLimits): Issue[] {
  const issues: Issue[] = [];
  const tell = (heldBy: "minimum" | "maximum", code: string, outcome: string, hint: string): void => {
    const held = rates.filter((rate) => rate.heldBy === heldBy);
    if (held.length === 0) return;
    const lb = held.reduce((sum, rate) => sum + rate.acres * (rate.rateLbPerAcre - rate.exactLbPerAcre), 0);
    const names = someOf(held.map((rate) => rate.unit));
    const against = `${formatNumber(Math.abs(lb))} lb of ${product.analysis} ${lb < 0 ? "short of" : "over"} the guide`;
    issues.push({
      code: `prescription/${code}`,
      severity: "warning",
      message: `${many(held.length, "unit")} (${names}) ${outcome}: ${against}.`,
      hint,
    });
  };
  tell(
    "maximum",
    "above-maximum",
    `held at the largest rate, ${formatShort(limits.maxLbPerAcre)} lb/ac`,
    "Raise the largest rate, or plan a second pass there.",
  );
  tell(
    "minimum",
    "below-minimum",
    limits.belowMin === "zero"
      ? `set to zero, being below the smallest rate, ${formatShort(limits.minLbPerAcre)} lb/ac`
      : `raised to the smallest rate, ${formatShort(limits.minLbPerAcre)} lb/ac`,
    "Lower the smallest rate if the spreader allows it.",
  );
  return issues;
}

/** The steps a person can follow from nutrient to product, the last being what the machine gets. */
function workingOf(
  nutrientRate: number,
  exact: number,
  machine: MachineRate,
  product: Product,
  nutrient: Nutrient,
  limits: MachineLimits,
): WorkingStep[] {
  const share = formatShort(product.percent[nutrient] / 100, 4);
  const steps: WorkingStep[] = [
    {
      text: `${product.analysis} for ${formatShort(nutrientRate)} lb ${nutrient}: ${formatShort(nutrientRate)} ÷ ${share}`,
      value: exact,
      unit: "lb/ac",
      source: `analysis ${product.analysis}`,
      basis: "arithmetic",
    },
  ];
  if (Math.abs(machine.roundedLbPerAcre - exact) > 1e-9) {
    steps.push({
      text: `rounded to the nearest ${formatShort(limits.stepLbPerAcre)}`,
      value: machine.roundedLbPerAcre,
      unit: "lb/ac",
      source: "rate step of the machine",
      basis: "user",
    });
  }
  if (machine.heldBy) {
    const atMost = `held at the largest rate, ${formatShort(limits.maxLbPerAcre)}`;
    const below = `below the smallest rate, ${formatShort(limits.minLbPerAcre)}`;
    steps.push({
      text: machine.heldBy === "maximum" ? atMost : `${below}: ${limits.belowMin === "zero" ? "none" : "raised to it"}`,
      value: machine.rateLbPerAcre,
      unit: "lb/ac",
      source: `${machine.heldBy === "maximum" ? "largest" : "smallest"} rate set`,
      basis: "user",
    });
  }
  const rate = machine.rateLbPerAcre;
  if (product.lbPerGallon !== undefined) {
    steps.push({
      text: `as a fluid: ${formatShort(rate)} ÷ ${formatShort(product.lbPerGallon)} lb/gal`,
      value: rate / product.lbPerGallon,
      unit: "gal/ac",
      source: "weight of the product",
      basis: "arithmetic",
    });
  }
  for (const other of ["N", "P2O5", "K2O"] as const) {
    const percent = product.percent[other];
    if (other === nutrient || percent === 0 || rate === 0) continue;
    steps.push({
      text: `carries ${other}: ${formatShort(rate)} × ${formatShort(percent / 100, 4)}`,
      value: rate * (percent / 100),
      unit: `lb ${other}/ac`,
      source: `analysis ${product.analysis}`,
      basis: "arithmetic",
    });
  }
  return steps;
}
