import type {Issue} from "../errors.ts";
import type {WorkingStep} from "../recommend/recommendation.ts";
import {formatNumber, formatShort} from "../units/format.ts";
import {many, someOf} from "./count-words.ts";
import {type MachineRate, machineRate} from "./machine-rate.ts";
import type {MachineLimits, Product, Purpose, RateShift, UnitRate} from "./prescription.ts";
import type {Want} from "./rated-ground.ts";

/** The level a unit's rate was drawn to, and how many there are. */
export interface Level {
  readonly lbPerAcre: number;
  readonly of: number;
}

/** One unit's product rate and its working, from what it wants. */
export function unitRate(
  unit: Pick<UnitRate, "unit" | "polygons" | "acres">,
  want: Want,
  product: Product,
  nutrient: Purpose,
  limits: MachineLimits,
  level?: Level,
): UnitRate {
  const {nutrientLbPerAcre, exactLbPerAcre} = want;
  const machine = machineRate(exactLbPerAcre, limits);
  const rateLbPerAcre = level?.lbPerAcre ?? machine.rateLbPerAcre;
  return {
    ...unit,
    nutrientLbPerAcre,
    exactLbPerAcre,
    ...machine,
    rateLbPerAcre,
    working: [
      ...want.working,
      ...machineSteps(exactLbPerAcre, machine, limits),
      ...levelSteps(machine, level),
      ...carriedSteps(rateLbPerAcre, product, nutrient),
    ],
  };
}

/** What rounding and limits moved over the field, lb. */
export function shiftOver(
  rates: readonly UnitRate[],
): Required<Pick<RateShift, "roundingLb" | "minimumLb" | "maximumLb">> {
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

/** What the machine makes of the exact rate. */
function machineSteps(exact: number, machine: MachineRate, limits: MachineLimits): WorkingStep[] {
  const steps: WorkingStep[] = [];
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
  return steps;
}

function levelSteps(machine: MachineRate, level: Level | undefined): WorkingStep[] {
  if (!level || level.lbPerAcre === machine.rateLbPerAcre) return [];
  return [
    {
      text: `drawn to the nearest of ${level.of} rates`,
      value: level.lbPerAcre,
      unit: "lb/ac",
      source: "number of rates set",
      basis: "user",
    },
  ];
}

/** The same product in gallons, and what else is in it. */
function carriedSteps(rate: number, product: Product, nutrient: Purpose): WorkingStep[] {
  const steps: WorkingStep[] = [];
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
