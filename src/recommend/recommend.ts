import {FieldError, type Issue, isFieldError} from "../errors.ts";
import type {UnitValue} from "../lab/soil-test.ts";
import type {Nutrient} from "../units/nutrient.ts";
import {buildupAndMaintenance} from "./buildup-and-maintenance.ts";
import {classTable} from "./class-table.ts";
import {type CropYear, cropYears, guideCrop, type PlannedCrop} from "./crop-years.ts";
import type {Given, RuleOptions, Worked} from "./evaluate.ts";
import {GUIDES} from "./find-guide.ts";
import {type FitOptions, fitTest} from "./fit-test.ts";
import type {Guide, NutrientRule} from "./guide.ts";
import {guidesThatFit, isFor} from "./guides-that-fit.ts";
import type {Recommendation, WorkingStep} from "./recommendation.ts";
import {sufficiencyEquation} from "./sufficiency-equation.ts";

export interface RecommendInput {
  /** Sampling unit id, or `"whole field"` for a pooled plan. */
  readonly unit: string;
  readonly tests: readonly UnitValue[];
  /** The crops one application serves, in order. */
  readonly crops: readonly PlannedCrop[];
  readonly options?: RecommendOptions;
}

export interface RecommendOptions extends RuleOptions, FitOptions {
  /** Which nutrients to work out; all of the guide's by default. */
  readonly nutrients?: readonly Nutrient[];
  /** Other crops of the rotation, which the application does not serve but which may raise the critical level. */
  readonly rotation?: readonly string[];
  /** Two-letter code of the field's state. A guide made for others is refused, or with `acceptMethod` only marked. */
  readonly state?: string;
}

/**
 * Works out what a published guide recommends for one unit, with every step of the working.
 *
 * Rates are lb of oxide per acre for all crops the application serves, exactly as the guide's equations give them: no
 * rounding, no cap, no machine limit. Nothing is converted between soil-test methods unless asked, and then only by a
 * relation the guide allows.
 *
 * @returns One recommendation for each nutrient asked for, in the guide's order.
 * @throws {FieldError} `recommend/guide-does-not-fit` when test, depth, unit, crop or state is not what the guide was
 *   made for (the hint names built-in guides that fit), `recommend/no-test`, `recommend/no-cec`, `recommend/no-crop`,
 *   `recommend/bad-yield-goal`, `recommend/bad-cec`, `recommend/too-many-crop-years`, `recommend/no-nutrient`,
 *   `recommend/no-reason`, `recommend/no-soil-group`, `recommend/no-relation`, and those of the guide's rules.
 */
export function recommend(guide: Guide, input: RecommendInput): readonly Recommendation[] {
  const {unit, tests, options = {}} = input;
  if (options.acceptMethod && options.acceptMethod.reason.trim() === "") {
    throw new FieldError("recommend/no-reason", "The guide was told to accept another method without a reason.", {
      hint: "Write down why, or leave acceptMethod out.",
    });
  }
  return withOtherGuides(input, () => {
    const stateIssues = checkState(guide, options);
    const {years, issues: cropIssues} = cropYears(guide, input.crops);
    const planned = years.flatMap(({harvests}) => harvests.map(({crop}) => crop.id));
    const others = (options.rotation ?? []).map((name) => guideCrop(guide, name).id);
    const rotation = [...new Set([...planned, ...others])];
    return rulesFor(guide, options.nutrients).map((rule) => {
      const fitted = fitTest(guide, rule.test, unit, tests, options);
      const {test} = fitted;
      const given: Given = {
        unit,
        test,
        testSteps: [...fitted.steps, ...goalSteps(years)],
        tests,
        years,
        rotation,
        options,
      };
      const {issues, ...worked} = evaluate(guide, rule, given);
      return {
        unit,
        nutrient: rule.nutrient,
        ...worked,
        test: {value: test.value, unit: rule.test.unitLabel, method: test.method},
        guide: {id: guide.id, title: guide.title, edition: guide.edition},
        issues: [...stateIssues, ...fitted.issues, ...cropIssues, ...issues] satisfies Issue[],
      };
    });
  });
}

/** Yield goals that are not simply the field's. */
function goalSteps(years: readonly CropYear[]): WorkingStep[] {
  return years.flatMap(({harvests}) =>
    harvests.flatMap(({crop, yieldGoal, goalFrom}): WorkingStep[] =>
      goalFrom
        ? [
            {
              text: `yield goal, ${crop.id}: ${goalFrom}`,
              value: yieldGoal,
              unit: crop.yieldUnit,
              source: "user's setting",
              basis: "user",
            },
          ]
        : [],
    ),
  );
}

function evaluate(guide: Guide, rule: NutrientRule, given: Given): Worked {
  switch (rule.kind) {
    case "buildup and maintenance":
      return buildupAndMaintenance(guide, rule, given);
    case "equation":
      return sufficiencyEquation(guide, rule, given);
    case "class table":
      return classTable(guide, rule, given);
  }
}

function rulesFor(guide: Guide, nutrients: readonly Nutrient[] | undefined): Guide["nutrients"] {
  const missing = nutrients?.find((nutrient) => !guide.nutrients.some((rule) => rule.nutrient === nutrient));
  if (missing) {
    throw new FieldError("recommend/no-nutrient", `${guide.cite} has no rule for ${missing} here.`, {
      hint: `It gives ${guide.nutrients.map(({nutrient}) => nutrient).join(" and ")}.`,
    });
  }
  return guide.nutrients.filter(({nutrient}) => nutrients === undefined || nutrients.includes(nutrient));
}

function checkState(guide: Guide, {state, acceptMethod}: RecommendOptions): Issue[] {
  if (state === undefined || isFor(guide, state)) return [];
  const message = `${guide.cite} was made for ${guide.region}, and the field is in ${state.trim().toUpperCase()}`;
  if (!acceptMethod) {
    throw new FieldError("recommend/guide-does-not-fit", `${message}.`, {hint: "Use a guide of the field's state."});
  }
  return [
    {
      code: "recommend/arithmetic-only",
      severity: "warning",
      message: `For arithmetic only: ${message}. Reason given: ${acceptMethod.reason.trim()}`,
      hint: "Do not spread by this rate; use a guide of the field's state.",
    },
  ];
}

/** A refusal that ends in the names of the built-in guides that would do. */
function withOtherGuides<T>({tests, crops, options}: RecommendInput, work: () => T): T {
  try {
    return work();
  } catch (error) {
    if (!isFieldError(error) || error.code !== "recommend/guide-does-not-fit") throw error;
    const names = crops.map(({crop}) => crop);
    const asked = options?.nutrients;
    const guides = GUIDES.map((guide) => ({
      ...guide,
      nutrients: guide.nutrients.filter(({nutrient}) => asked === undefined || asked.includes(nutrient)),
    }));
    const fit = guidesThatFit(guides, tests, names, options?.state).map(({id}) => id);
    const others = fit.length > 0 ? `Guides made for these tests and crops: ${fit.join(", ")}.` : "";
    throw new FieldError(error.code, error.message, {
      place: error.place,
      hint: [error.hint, others].filter(Boolean).join(" ") || undefined,
      issues: error.issues,
    });
  }
}
