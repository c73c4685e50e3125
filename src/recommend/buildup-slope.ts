import {FieldError, type Issue} from "../errors.ts";
import {formatShort as n} from "../units/format.ts";
import type {RuleOptions} from "./evaluate.ts";
import type {BuildupRule, Cited, Guide} from "./guide.ts";
import type {WorkingStep} from "./recommendation.ts";

/** lb of oxide a year for each unit of soil test under the critical level, and how that number came about. */
export interface Slope {
  readonly value: number;
  /** The numbers in it: `5`, `(1 + 0.05 × 12)`, `18 ÷ 4`. */
  readonly text: string;
  readonly cited: readonly Cited[];
  readonly steps: readonly WorkingStep[];
  readonly issues: readonly Issue[];
}

/** @throws {FieldError} `recommend/bad-buildup-years` for a number of years that is none, or that the guide cannot use. */
export function buildupSlope(guide: Guide, rule: BuildupRule, cec: number, options: RuleOptions): Slope {
  const perYear = slopeByCec(rule, cec, options);
  const {years} = rule.buildup;
  const asked = options.buildupYears;
  if (asked !== undefined && !(asked >= 1 && asked <= 50)) {
    throw new FieldError("recommend/bad-buildup-years", `Buildup over ${asked} years is not possible.`, {
      hint: "Give a number of years from 1 to 50.",
    });
  }
  if (!years) {
    if (asked === undefined) return perYear;
    throw new FieldError(
      "recommend/bad-buildup-years",
      `${guide.cite} does not say over how many years it builds up.`,
      {
        hint: "Leave buildupYears out.",
      },
    );
  }
  const {usual, divides, choices = [usual.value]} = years;
  const over = asked ?? usual.value;
  if (!divides && over === usual.value) return perYear;
  const issues: Issue[] = choices.includes(over)
    ? []
    : [
        {
          code: "recommend/own-buildup-years",
          severity: "note",
          message: `Buildup is spread over ${n(over)} years; ${guide.cite} uses ${choices.join(", ")}.`,
        },
      ];
  const total = divides ? perYear.value : perYear.value * usual.value;
  return {
    value: total / over,
    text: divides ? `${perYear.text} ÷ ${n(over)}` : `${perYear.text} × ${n(usual.value)} ÷ ${n(over)}`,
    cited: asked === undefined ? [...perYear.cited, usual] : [...perYear.cited, {value: over, basis: "user"}],
    steps: perYear.steps,
    issues: [...perYear.issues, ...issues],
  };
}

function slopeByCec(rule: BuildupRule, cec: number, {clampCec}: RuleOptions): Slope {
  const {base, perCec} = rule.buildup;
  if (!perCec) return {value: base.value, text: n(base.value), cited: [base], steps: [], issues: []};
  const {from = 0, to = Infinity} = rule.cec?.fittedFor ?? {};
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
