import {FieldError, type Issue} from "../errors.ts";
import type {Method} from "../lab/soil-test.ts";
import {formatShort as n} from "../units/format.ts";
import {type Given, placed, totalStep, type Worked, weakest} from "./evaluate.ts";
import type {Cited, Equation, EquationRow, EquationRule, Guide} from "./guide.ts";
import type {WorkingStep} from "./recommendation.ts";

/**
 * Evaluates a rule of the kind "equation", harvest by harvest, and sums.
 *
 * Each harvest's rate is the guide's equation, never below zero, zero from the guide's own cut-off on, and at least the
 * guide's smallest rate where anything is due.
 *
 * @throws {FieldError} `recommend/guide-does-not-fit` for a crop the rule has no equation for.
 */
export function sufficiencyEquation(guide: Guide, rule: EquationRule, given: Given): Worked {
  const {unit, test, years, options} = given;
  const due: WorkingStep[] = [];
  const limits: number[] = [];
  const issues: Issue[] = [];
  let before = options.previousCrop?.trim().toLowerCase();
  for (const {harvests} of years) {
    for (const {crop, yieldGoal} of harvests) {
      const row = rowFor(guide, rule, crop.id, test.method, before);
      if (before === undefined && rule.rows.some(({crops, after}) => after && crops.includes(crop.id))) {
        issues.push({
          code: "recommend/previous-crop-unknown",
          severity: "note",
          message: `${guide.cite} has another limit for ${crop.id} after some crops; the crop before was not given and the general limit was used.`,
          hint: "Name the previous crop.",
        });
      }
      due.push(...harvestSteps(guide, rule, row, crop.id, yieldGoal, test.value));
      limits.push(zeroPoint(row));
      before = crop.id;
    }
  }
  if (due.length > 1) issues.push(summedRemark(guide));
  const zeroFrom = Math.max(...limits);
  const [below, above] = rule.classes;
  return {
    rateLbPerAcre: due.reduce((sum, {value}) => sum + value, 0),
    testClass: test.value < zeroFrom ? below : above,
    working: [...given.testSteps, ...due, ...totalStep(due, years.length, n)],
    issues: placed(issues, unit),
    classLimits: {names: rule.classes, upTo: [zeroFrom]},
    criticalLevel: zeroFrom,
    buildupLbPerAcre: 0,
  };
}

/** The soil test from which a row gives nothing. */
export function zeroPoint({equation, zeroFrom}: EquationRow): number {
  return Math.min(zeroFrom?.value ?? Infinity, naturalZero(equation));
}

function naturalZero(equation: Equation): number {
  switch (equation.form) {
    case "per yield":
      return equation.intercept.value / equation.slope.value;
    case "difference":
      return equation.level.value;
    case "full":
      // It depends a little on the yield goal; guides of this form give a cut-off of their own.
      return Infinity;
  }
}

function rowFor(
  guide: Guide,
  rule: EquationRule,
  crop: string,
  method: Method,
  before: string | undefined,
): EquationRow {
  const rows = rule.rows.filter(({crops, methods}) => crops.includes(crop) && (!methods || methods.includes(method)));
  const row =
    rows.find(({after}) => after !== undefined && after === before) ?? rows.find(({after}) => after === undefined);
  if (row) return row;
  throw new FieldError(
    "recommend/guide-does-not-fit",
    `${guide.cite} has no ${rule.nutrient} equation for ${crop} by ${method}.`,
    {hint: "Use a guide made for the crop, or ask for the other nutrients only."},
  );
}

/** The equation with its numbers, and what the guide's cut-off and smallest rate make of it. */
function harvestSteps(
  guide: Guide,
  rule: EquationRule,
  row: EquationRow,
  crop: string,
  goal: number,
  test: number,
): WorkingStep[] {
  const unit = `lb ${rule.nutrient}/ac`;
  const step = (text: string, value: number, ...from: readonly Cited[]): WorkingStep => ({
    text: `${crop}: ${text}`,
    value,
    unit,
    source: guide.cite,
    basis: weakest(from),
  });
  const {zeroFrom, least} = row;
  if (zeroFrom && test >= zeroFrom.value) {
    return [step(`${n(test)} ≥ ${n(zeroFrom.value)}: nothing is due`, 0, zeroFrom)];
  }
  const {text, value, cited} = solved(row.equation, goal, test);
  if (value <= 0 && !least) return [step(`${text} is below zero: nothing is due`, 0, ...cited)];
  if (least && value < least.value) {
    return [step(`${text} = ${n(value)}, raised to the guide's smallest rate`, least.value, least, ...cited)];
  }
  return [step(text, value, ...cited)];
}

function solved(
  equation: Equation,
  goal: number,
  test: number,
): {text: string; value: number; cited: readonly Cited[]} {
  switch (equation.form) {
    case "per yield": {
      const {intercept: a, slope: b} = equation;
      return {
        text: `(${n(a.value)} − ${n(b.value, 4)} × ${n(test)}) × ${n(goal)}`,
        value: (a.value - b.value * test) * goal,
        cited: [a, b],
      };
    }
    case "difference": {
      const {level, times} = equation;
      const factor = times.value === 1 ? "" : ` × ${n(times.value)}`;
      return {
        text: factor ? `(${n(level.value)} − ${n(test)})${factor}` : `${n(level.value)} − ${n(test)}`,
        value: (level.value - test) * times.value,
        cited: [level, times],
      };
    }
    case "full": {
      const {constant: a, perYield: b, perTest: c, perBoth: d} = equation;
      return {
        text: `${n(a.value)} + ${n(b.value)} × ${n(goal)} − ${n(c.value)} × ${n(test)} − ${n(d.value, 4)} × ${n(goal)} × ${n(test)}`,
        value: a.value + b.value * goal - c.value * test - d.value * goal * test,
        cited: [a, b, c, d],
      };
    }
  }
}

function summedRemark(guide: Guide): Issue {
  return {
    code: "recommend/yearly-rates-summed",
    severity: "note",
    message: `${guide.cite} gives rates for one crop at a time; their sum takes the soil test to be the same for each.`,
    hint: "Test the soil again before the later crops where the test is near a limit.",
  };
}
