import {FieldError, type Issue} from "../errors.ts";
import type {UnitValue} from "../lab/soil-test.ts";
import {formatShort as n} from "../units/format.ts";
import type {CropYear} from "./crop-years.ts";
import type {Basis, BuildupRule, Cited, Guide, LimitRow} from "./guide.ts";
import type {Recommendation, WorkingStep} from "./recommendation.ts";

export interface BuildupOptions {
  /** Whether a soil below the critical level is built up as well as kept; true by default. */
  readonly buildup?: boolean;
  /** Which side of the guide's CEC boundary the boundary itself is on: "at most 5" (default) or "below 5" is low. */
  readonly cecBoundary?: "at most" | "below";
  /** Holds CEC within the range the buildup slope was fitted for. Not part of a guide, so off by default. */
  readonly clampCec?: boolean;
  /** meq/100 g for the whole field, for units whose lab report gives none. */
  readonly cecMeq?: number;
}

interface Given {
  readonly unit: string;
  readonly test: UnitValue;
  /** All tests of the unit; the CEC is among them. */
  readonly tests: readonly UnitValue[];
  readonly years: readonly CropYear[];
  /** Ids of the crops that are grown, served by the application or not. */
  readonly rotation: readonly string[];
  readonly options: BuildupOptions;
}

type Worked = Pick<Recommendation, "rateLbPerAcre" | "testClass" | "working" | "issues">;

/**
 * Evaluates a rule of the kind "buildup and maintenance", crop year by crop year, and sums.
 *
 * @throws {FieldError} `recommend/no-cec`, `recommend/bad-cec`.
 */
export function buildupAndMaintenance(guide: Guide, rule: BuildupRule, given: Given): Worked {
  const {unit, test, years, options} = given;
  const working: WorkingStep[] = [
    {
      text: `soil-test ${test.analyte} by ${test.method}: ${test.from}`,
      value: test.value,
      unit: rule.test.unitLabel,
      source: "lab result",
      basis: "user",
    },
  ];
  const cec = rule.cec && cecStep(guide, given);
  if (cec) working.push(cec);
  const limits = limitsFor(rule, given.rotation, cec?.value, options);
  for (const [name, limit] of [
    ["critical level", limits.critical],
    ["maintenance limit", limits.maintenance],
  ] as const) {
    const text = `${name} ${limitsInWords(rule, limits, given)}`;
    working.push({text, value: limit.value, unit: rule.test.unitLabel, source: guide.cite, basis: limit.basis});
  }

  const {before, due, issues} = dueSteps(guide, rule, given, limits, cec?.value);
  const rate = due.reduce((sum, step) => sum + step.value, 0);
  working.push(...before, ...due);
  if (due.length > 1) {
    const terms = due.map((step) => n(step.value)).join(" + ");
    const over = years.length > 1 ? ` over ${years.length} crop years` : "";
    const lbPerAcre = `lb ${rule.nutrient}/ac`;
    working.push({text: `total${over}: ${terms}`, value: rate, unit: lbPerAcre, source: "sum", basis: "arithmetic"});
  }
  const [below, within, above] = rule.classes;
  return {
    rateLbPerAcre: rate,
    testClass: test.value < limits.critical.value ? below : test.value < limits.maintenance.value ? within : above,
    working,
    issues: issues.map((issue) => ({...issue, place: {featureId: unit}})),
  };
}

/** What the crops need, in lb of oxide per acre: one step for each term of the guide's equation. */
function dueSteps(guide: Guide, rule: BuildupRule, given: Given, limits: LimitRow, cec: number | undefined) {
  const {test, years, options} = given;
  const critical = limits.critical.value;
  const maintenance = limits.maintenance.value;
  const due: WorkingStep[] = [];
  const add = (text: string, value: number, ...from: Cited[]): void => {
    due.push({text, value, unit: `lb ${rule.nutrient}/ac`, source: guide.cite, basis: weakest(from)});
  };
  if (test.value >= maintenance) {
    const compared = `${n(test.value)} ≥ ${n(maintenance)}`;
    add(`at or above the maintenance limit (${compared}): nothing is due`, 0, limits.maintenance);
    return {before: [], due, issues: []};
  }
  const deficient = test.value < critical;
  const slope = deficient && options.buildup !== false ? buildupSlope(rule, cec, options) : undefined;
  for (const {label, harvests} of years) {
    if (slope) {
      const text = `buildup, ${label}: (${n(critical)} − ${n(test.value)}) × ${slope.text}`;
      add(text, (critical - test.value) * slope.value, limits.critical, ...slope.cited);
    }
    for (const {crop, yieldGoal} of harvests) {
      const removal = crop.removal[rule.nutrient];
      if (!removal) throw new Error(`${guide.id} has no ${rule.nutrient} removal for ${crop.id}`);
      const text = `removal, ${crop.id}: ${n(yieldGoal)} ${crop.yieldUnit} × ${n(removal.value)}`;
      add(text, yieldGoal * removal.value, removal);
    }
    if (rule.perCropYear) add(`constant, ${label}: once a crop year`, rule.perCropYear.value, rule.perCropYear);
  }
  const issues = [...(slope?.issues ?? []), ...(deficient ? remarksBelow(guide, rule, given) : [])];
  return {before: slope?.steps ?? [], due, issues};
}

/** The unit's own CEC, or else the one given for the field. */
function cecStep(guide: Guide, {unit, tests, options}: Given): WorkingStep {
  const test = tests.find(({analyte}) => analyte === "CEC");
  const value = test?.value ?? options.cecMeq;
  if (value === undefined) {
    throw new FieldError("recommend/no-cec", `Unit "${unit}" has no CEC, which ${guide.cite} needs for potassium.`, {
      place: {featureId: unit},
      hint: "Name the CEC column of the lab report, or give one CEC for the field.",
    });
  }
  if (!(value > 0 && value <= 100)) {
    throw new FieldError("recommend/bad-cec", `A CEC of ${value} meq/100 g is not possible.`, {
      place: {featureId: unit},
      hint: "Give the CEC in meq/100 g; cropland has about 2 to 45.",
    });
  }
  return {
    text: test ? `CEC by ${test.method}: ${test.from}` : "CEC: one value for the whole field",
    value,
    unit: "meq/100 g",
    source: test ? "lab result" : "user's setting",
    basis: "user",
  };
}

/** Of the rows for this soil, the one with the highest critical level among the crops grown. */
function limitsFor(
  rule: BuildupRule,
  rotation: readonly string[],
  cec: number | undefined,
  options: BuildupOptions,
): LimitRow {
  const side = rule.cec && cec !== undefined ? cecSide(cec, rule.cec.boundary.value, options) : undefined;
  const rows = rule.limits.filter(
    (row) => (row.cec === undefined || row.cec === side) && row.crops.some((crop) => rotation.includes(crop)),
  );
  const [first, ...others] = rows;
  if (!first) throw new Error(`no limits for ${rotation.join(", ")}`);
  return others.reduce((best, row) => (row.critical.value > best.critical.value ? row : best), first);
}

function cecSide(cec: number, boundary: number, {cecBoundary = "at most"}: BuildupOptions): "low" | "high" {
  return cec < boundary || (cec === boundary && cecBoundary === "at most") ? "low" : "high";
}

/** "for corn and soybean", "for wheat, which the whole rotation is held to", "for corn, CEC above 5". */
function limitsInWords(rule: BuildupRule, row: LimitRow, {rotation, options}: Given): string {
  const its = rotation.filter((crop) => row.crops.includes(crop));
  const raised = its.length < rotation.length ? ", which the whole rotation is held to" : "";
  const [low, high] = options.cecBoundary === "below" ? ["below", "at least"] : ["at most", "above"];
  const side = rule.cec && row.cec ? `, CEC ${row.cec === "low" ? low : high} ${rule.cec.boundary.value}` : "";
  return `for ${its.join(" and ")}${raised}${side}`;
}

/** lb of oxide a year for each unit of soil test under the critical level. */
function buildupSlope(rule: BuildupRule, cec: number | undefined, {clampCec}: BuildupOptions) {
  const {base, perCec} = rule.buildup;
  if (!perCec || !rule.cec || cec === undefined) {
    return {value: base.value, text: n(base.value), cited: [base], steps: [], issues: []};
  }
  const {from, to} = rule.cec.fittedFor;
  const held = clampCec ? Math.min(Math.max(cec, from), to) : cec;
  const steps: WorkingStep[] = [];
  const issues: Issue[] = [];
  if (cec < from || cec > to) {
    issues.push({
      code: "recommend/cec-outside",
      severity: "warning",
      message: `CEC ${n(cec)} is outside the ${from} to ${to} meq/100 g the potassium buildup slope was fitted for${held === cec ? "" : `; it was held at ${n(held)}`}.`,
      hint: held === cec ? "Set clampCec to hold it within that range, or check the CEC." : "Check the CEC.",
    });
  }
  if (held !== cec) {
    steps.push({
      text: `CEC held within ${from} to ${to} for the buildup slope`,
      value: held,
      unit: "meq/100 g",
      source: "user's setting",
      basis: "user",
    });
  }
  return {
    value: base.value + perCec.value * held,
    text: `(${n(base.value)} + ${n(perCec.value)} × ${n(held)})`,
    cited: [base, perCec],
    steps,
    issues,
  };
}

function remarksBelow(guide: Guide, rule: BuildupRule, {test, years, options}: Given): Issue[] {
  const state = `${rule.test.analyte} ${n(test.value)} ${rule.test.unitLabel} is below the critical level`;
  const issues: Issue[] = [];
  if (options.buildup === false) {
    issues.push({
      code: "recommend/no-buildup",
      severity: "note",
      message: `${state} and buildup is switched off: the rate keeps the soil where it is.`,
    });
  }
  if (years.length > 1) {
    issues.push({
      code: "recommend/yearly-below-critical",
      severity: "note",
      message: `${state}: ${guide.cite} asks for an application every year there; this rate serves ${years.length} crop years at once.`,
    });
  }
  return issues;
}

function weakest(cited: readonly Cited[]): Basis {
  return cited.some(({basis}) => basis === "from memory") ? "from memory" : "printed";
}
