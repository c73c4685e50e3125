import type {Issue} from "../errors.ts";
import {formatShort as n} from "../units/format.ts";
import {buildupSlope} from "./buildup-slope.ts";
import {cecStep} from "./cec.ts";
import {type Given, placed, type RuleOptions, totalStep, type Worked, weakest} from "./evaluate.ts";
import type {BuildupRule, Cited, Guide} from "./guide.ts";
import {type Limits, limitSteps, limitsFor} from "./limits.ts";
import type {WorkingStep} from "./recommendation.ts";
import {removalTerm} from "./removal.ts";

export type BuildupOptions = RuleOptions;

/**
 * Evaluates a rule of the kind "buildup and maintenance", crop year by crop year, and sums.
 *
 * @throws {FieldError} `recommend/no-cec`, `recommend/bad-cec`, `recommend/no-soil-group`,
 *   `recommend/bad-buildup-years`, and those of `removalOf`.
 */
export function buildupAndMaintenance(guide: Guide, rule: BuildupRule, given: Given): Worked {
  const {unit, test, years, options} = given;
  const cecLine = rule.cec && cecStep(guide, given);
  // Rules that need no CEC never look at it.
  const cec = cecLine?.value ?? Number.NaN;
  const limits = limitsFor(guide, rule, given.rotation, cec, options);
  const {before, due, buildup, issues} = dueSteps(guide, rule, given, limits, cec);
  return {
    rateLbPerAcre: due.reduce((sum, step) => sum + step.value, 0),
    testClass: classOf(rule, limits, test.value),
    working: [
      ...given.testSteps,
      ...(cecLine ? [cecLine] : []),
      ...limitSteps(guide, rule, limits, given, cec),
      ...before,
      ...due,
      ...totalStep(due, years.length, n),
    ],
    issues: placed(issues, unit),
    classLimits: classLimits(rule, limits),
    criticalLevel: limits.critical.value,
    buildupLbPerAcre: buildup,
  };
}

function classLimits({classes, drawdownClass}: BuildupRule, {critical, maintenance, zero}: Limits) {
  const [below, within, above] = classes;
  return zero && drawdownClass
    ? {names: [below, within, drawdownClass, above], upTo: [critical.value, maintenance.value, zero.value]}
    : {names: [below, within, above], upTo: [critical.value, maintenance.value]};
}

function classOf(rule: BuildupRule, limits: Limits, test: number): string {
  const {names, upTo} = classLimits(rule, limits);
  const i = upTo.findIndex((limit, k) => test < limit || (k === 1 && test === limit && isIncluded(rule, limits)));
  return names.at(i) as string;
}

/** Whether a soil exactly at the maintenance limit is still maintained. */
function isIncluded({limitIncluded}: BuildupRule, {zero}: Limits): boolean {
  return limitIncluded === true || zero !== undefined;
}

/** What the crops need, in lb of oxide per acre: one step for each term of the guide's equation. */
function dueSteps(guide: Guide, rule: BuildupRule, given: Given, limits: Limits, cec: number) {
  const {test, years, options} = given;
  const critical = limits.critical.value;
  const maintenance = limits.maintenance.value;
  const due: WorkingStep[] = [];
  const add = (text: string, value: number, ...from: Cited[]): void => {
    due.push({text, value, unit: `lb ${rule.nutrient}/ac`, source: guide.cite, basis: weakest(from)});
  };
  if (isSpent(rule, limits, test.value)) {
    const end = limits.zero ?? limits.maintenance;
    const name = limits.zero
      ? "at or above the end of the drawdown"
      : `${isIncluded(rule, limits) ? "" : "at or "}above the maintenance limit`;
    add(
      `${name} (${n(test.value)} ${isIncluded(rule, limits) && !limits.zero ? ">" : "≥"} ${n(end.value)}): nothing is due`,
      0,
      end,
    );
    return {before: [], due, buildup: 0, issues: []};
  }
  const deficient = test.value < critical;
  const slope = deficient && options.buildup !== false ? buildupSlope(guide, rule, cec, options) : undefined;
  const root = rule.buildup.squareRoot ? "√" : "";
  const gap = root ? Math.sqrt(critical) - Math.sqrt(test.value) : critical - test.value;
  for (const {label, harvests} of years) {
    if (slope) {
      const text = `buildup, ${label}: (${root}${n(critical)} − ${root}${n(test.value)}) × ${slope.text}`;
      add(text, gap * slope.value, limits.critical, ...slope.cited);
    }
    for (const harvest of harvests) {
      const {text, value, cited} = removalTerm(guide, harvest, rule.nutrient, options);
      add(text, value, cited);
    }
    if (rule.perCropYear) add(`constant, ${label}: once a crop year`, rule.perCropYear.value, rule.perCropYear);
  }
  if (limits.zero && test.value > maintenance) {
    const kept = due.reduce((sum, step) => sum + step.value, 0);
    const range = limits.zero.value - maintenance;
    const text = `drawdown: −${n(kept)} × (${n(test.value)} − ${n(maintenance)}) ÷ ${n(range)}`;
    add(text, (-kept * (test.value - maintenance)) / range, limits.maintenance, limits.zero);
  }
  return {
    before: slope?.steps ?? [],
    due,
    buildup: slope ? gap * slope.value * years.length : 0,
    issues: [...(slope?.issues ?? []), ...(deficient ? remarksBelow(guide, rule, given) : [])],
  };
}

function isSpent(rule: BuildupRule, limits: Limits, test: number): boolean {
  if (limits.zero) return test >= limits.zero.value;
  return isIncluded(rule, limits) ? test > limits.maintenance.value : test >= limits.maintenance.value;
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
  if (years.length > 1 && rule.yearlyBelowCritical) {
    issues.push({
      code: "recommend/yearly-below-critical",
      severity: "note",
      message: `${state}: ${guide.cite} asks for an application every year there; this rate serves ${years.length} crop years at once.`,
    });
  }
  return issues;
}
