import type {Issue} from "../errors.ts";
import type {RecordedChoice} from "../lab/apply-choices.ts";
import {idKey} from "../lab/sample-id.ts";
import type {UnitValue} from "../lab/soil-test.ts";
import type {SamplingPlan} from "../sampling/plan.ts";
import {formatArea, formatShort} from "../units/format.ts";
import type {Job} from "./job.ts";
import type {RatedPlan} from "./rate-plans.ts";

/**
 * Ground of a plan that gets nothing because something was not measured there, so that nobody takes it for a saving.
 * Nothing for a pooled plan, whose one rate holds everywhere.
 *
 * @param spread - Nutrients the plan is rated for.
 */
export function unratedGround(
  {plan, values, recommendations, lime}: Pick<RatedPlan, "plan" | "values" | "recommendations" | "lime">,
  spread: readonly string[],
  choices: readonly RecordedChoice[],
): Issue[] {
  if (plan.pooled) return [];
  const lacking = new Map<string, string[]>();
  const add = (what: string, rated: ReadonlySet<string>): void => {
    const units = plan.units.map(({id}) => id).filter((id) => !rated.has(id));
    if (units.length > 0) lacking.set(units.join("\n"), [...(lacking.get(units.join("\n")) ?? []), what]);
  };
  for (const nutrient of spread) {
    add(nutrient, new Set(recommendations.filter((one) => one.nutrient === nutrient).map(({unit}) => unit)));
  }
  if (lime.length > 0) add("lime", new Set(lime.map(({unit}) => unit)));
  return [...lacking].map(([key, what]): Issue => {
    const units = key.split("\n");
    const area = plan.units.reduce((sum, unit) => (units.includes(unit.id) ? sum + unit.area : sum), 0);
    const why = whyOf(units, values, choices);
    return {
      code: "rates/nothing-counted",
      severity: "warning",
      message: `${few(units)} of the ${plan.strategy} plan, ${formatArea(area)}, ${units.length === 1 ? "has" : "have"} no rate of ${what.join(" and ")}${why}: ${units.length === 1 ? "its" : "their"} ground counts as nothing spread; differences between strategies hold this.`,
      hint: "Give their lab results before totals are compared.",
    };
  });
}

/** Why some of the units lack a result, where it is not that all theirs are missing. */
function whyOf(
  units: readonly string[],
  values: ReadonlyMap<string, readonly UnitValue[]>,
  choices: readonly RecordedChoice[],
): string {
  const chosen = choices.filter(
    ({sampleId, choice}) => choice !== "keep" && units.some((id) => idKey(id) === idKey(sampleId)),
  );
  if (chosen.length > 0) {
    const said = chosen.map(
      ({sampleId, analyte, choice}) =>
        `${analyte} of ${sampleId} was ${choice === "exclude" ? "excluded by your choice" : "left out until run again"}`,
    );
    return ` (${said.join("; ")})`;
  }
  return units.some((id) => (values.get(id) ?? []).length > 0) ? " (not measured there)" : "";
}

/**
 * Soil pH from which no lime is due whatever the subsoil: Iowa State University Extension takes 6.0 as enough over a
 * calcareous subsoil and 6.5 elsewhere (Mallarino 2019); an Ohio page limes corn and soybean below 6.0 or 6.2.
 */
const LOW_PH = 6;

/** Soils under pH 6.0 of a job that asks for no lime; pH in water only. */
export function limeNotAsked(job: Job, plan: SamplingPlan, values: ReadonlyMap<string, readonly UnitValue[]>): Issue[] {
  if (job.lime) return [];
  const sour = plan.units.flatMap(({id}) => {
    const pH = values.get(id)?.find(({analyte, method}) => analyte === "pH" && method === "water 1:1");
    return pH && pH.value < LOW_PH ? [`${id} ${formatShort(pH.value, 1)}`] : [];
  });
  if (sour.length === 0) return [];
  return [
    {
      code: "lime/not-asked",
      severity: "note",
      message: `Soil pH is under ${LOW_PH.toFixed(1)} in ${sour.length} of ${plan.units.length} units of the ${plan.strategy} plan, and the job asks for no lime: ${few(sour)}.`,
      hint: 'Give "lime" with a method and a target pH (docs/job.md).',
    },
  ];
}

const FEW = 6;
const few = (names: readonly string[]): string =>
  names.length > FEW ? `${names.slice(0, FEW).join(", ")} and ${names.length - FEW} more` : names.join(", ");
