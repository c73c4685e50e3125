import {FieldError, type Issue} from "../errors.ts";
import type {Recommendation} from "../recommend/recommendation.ts";
import type {SamplingUnit} from "../sampling/plan.ts";
import {formatArea} from "../units/format.ts";
import type {Nutrient} from "../units/nutrient.ts";
import {someOf} from "./count-words.ts";

const WHOLE_FIELD = "whole field";

export interface RatesByUnitInput {
  readonly units: readonly Pick<SamplingUnit, "id" | "area">[];
  /** One per unit, or a single one for `"whole field"`. Other nutrients are passed over. */
  readonly recommendations: readonly Pick<Recommendation, "unit" | "nutrient" | "rateLbPerAcre">[];
  readonly nutrient: Nutrient;
  /** What to do about a unit without a recommendation. Default: refuse. */
  readonly missing?: "refuse" | "zero" | undefined;
}

/**
 * The nutrient rate of each unit, in the order of the units.
 *
 * @throws {FieldError} `prescription/no-rate`, `prescription/bad-rate`, `prescription/two-rates`.
 */
export function ratesByUnit(input: RatesByUnitInput): {rates: number[]; issues: Issue[]} {
  const {units, nutrient} = input;
  const given = new Map<string, number>();
  for (const {unit, nutrient: which, rateLbPerAcre} of input.recommendations) {
    if (which !== nutrient) continue;
    if (!(rateLbPerAcre >= 0 && rateLbPerAcre < Infinity)) {
      throw new FieldError("prescription/bad-rate", `${unit} has a rate of ${rateLbPerAcre} lb ${nutrient}/ac.`, {
        hint: "A rate is zero or more; check the recommendation.",
      });
    }
    if (given.has(unit)) {
      throw new FieldError("prescription/two-rates", `${unit} has two recommendations for ${nutrient}.`, {
        hint: "Keep one guide and one result for each unit.",
      });
    }
    given.set(unit, rateLbPerAcre);
  }
  const pooled = given.get(WHOLE_FIELD);
  if (pooled !== undefined && given.size > 1) {
    throw new FieldError("prescription/two-rates", `There are rates for the whole field and for single units.`, {
      hint: "Use one rate for the whole field, or one for each unit.",
    });
  }
  const known = new Set(units.map((unit) => unit.id));
  const strangers = [...given.keys()].filter((unit) => unit !== WHOLE_FIELD && !known.has(unit));
  const lacking = pooled === undefined ? units.filter((unit) => !given.has(unit.id)).map((unit) => unit.id) : [];
  if (lacking.length > 0 && (input.missing !== "zero" || lacking.length === units.length)) {
    throw new FieldError(
      "prescription/no-rate",
      `${someOf(lacking)} ${lacking.length === 1 ? "has" : "have"} no recommendation for ${nutrient}.`,
      {hint: 'Give their lab results, or set units without a rate to zero ("missing": "zero").'},
    );
  }
  const issues: Issue[] = [];
  if (lacking.length > 0) {
    const area = units.reduce((sum, unit) => (lacking.includes(unit.id) ? sum + unit.area : sum), 0);
    issues.push({
      code: "prescription/no-rate",
      severity: "warning",
      message: `${someOf(lacking)} (${formatArea(area)}) without a recommendation for ${nutrient}: set to zero.`,
      hint: "Give their lab results if they should be spread.",
    });
  }
  if (strangers.length > 0) {
    issues.push({
      code: "prescription/unknown-unit",
      severity: "warning",
      message: `Recommendations for ${someOf(strangers)} match no unit of this plan and were left out.`,
      hint: "Check that plan and lab results belong together.",
    });
  }
  return {rates: units.map((unit) => pooled ?? given.get(unit.id) ?? 0), issues};
}
