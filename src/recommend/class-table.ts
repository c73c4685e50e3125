import {FieldError, type Issue} from "../errors.ts";
import {formatShort as n, roundHalfAway} from "../units/format.ts";
import type {CropYear} from "./crop-years.ts";
import {type Given, placed, totalStep, type Worked, weakest} from "./evaluate.ts";
import type {ClassRateRow, ClassTableRule, Guide} from "./guide.ts";
import type {WorkingStep} from "./recommendation.ts";
import {removalTerm} from "./removal.ts";

type Harvest = CropYear["harvests"][number];

/**
 * Evaluates a rule of the kind "class table".
 *
 * The soil test is compared in whole numbers, as laboratories report it and the table prints its classes: 10.4 falls
 * into a class that ends at 10. A row made for several crops from one application is used when exactly those crops are
 * served, each in a year of its own; otherwise each harvest has its own row and the rates are summed.
 *
 * @throws {FieldError} `recommend/guide-does-not-fit` for a crop the table has no rates for, and those of `removalOf`.
 */
export function classTable(guide: Guide, rule: ClassTableRule, given: Given): Worked {
  const {unit, test, years} = given;
  const scale = rule.scales.find(({methods}) => methods.includes(test.method)) ?? rule.scales[0];
  if (!scale) throw new Error(`${guide.id} has no classes for ${rule.nutrient}`);
  const whole = roundHalfAway(test.value);
  const found = scale.upTo.findIndex(({value}) => whole <= value);
  const index = found < 0 ? rule.classes.length - 1 : found;
  const testClass = rule.classes[index] as string;

  const jobs = rowsFor(guide, rule, years);
  const due = jobs.flatMap(({row, harvests}) => rateSteps(guide, rule, given, row, harvests, index));
  const issues: Issue[] = [];
  if (jobs.length > 1) {
    issues.push({
      code: "recommend/yearly-rates-summed",
      severity: "note",
      message: `${guide.cite} has no single rate for these crops together; the rates of each were added up.`,
      hint: "Test the soil again before the later crops where the test is near a limit.",
    });
  }
  issues.push(...removalRemarks(guide, rule, given, jobs, due, index));
  const firstKept = rule.rows[0]?.rates.indexOf("removal") ?? -1;
  const critical = firstKept > 0 ? scale.upTo[firstKept - 1] : undefined;
  return {
    rateLbPerAcre: due.reduce((sum, {value}) => sum + value, 0),
    testClass,
    working: [
      ...given.testSteps,
      classStep(guide, rule, scale.upTo, index, whole),
      ...due,
      ...totalStep(due, years.length, n),
    ],
    issues: placed(issues, unit),
    // A class that ends at 10 takes all that rounds to 10.
    classLimits: {names: rule.classes, upTo: scale.upTo.map(({value}) => value + 0.5)},
    ...(critical && {criticalLevel: critical.value + 1}),
    buildupLbPerAcre: 0,
  };
}

function classStep(
  guide: Guide,
  rule: ClassTableRule,
  upTo: ClassTableRule["scales"][number]["upTo"],
  index: number,
  whole: number,
): WorkingStep {
  const from = index === 0 ? 0 : (upTo[index - 1]?.value ?? 0) + 1;
  const end = upTo[index];
  const range = end ? `${n(from)} to ${n(end.value)}` : `${n(from)} and more`;
  return {
    text: `class ${rule.classes[index]}: ${range}`,
    value: whole,
    unit: rule.test.unitLabel,
    source: guide.cite,
    basis: weakest([upTo[index], upTo[index - 1]].filter((cited) => cited !== undefined)),
  };
}

function rowsFor(guide: Guide, rule: ClassTableRule, years: readonly CropYear[]) {
  const harvests = years.flatMap((year) => year.harvests);
  const served = harvests.map(({crop}) => crop.id);
  const together = rule.rows.find(
    (row) =>
      row.together &&
      years.length === row.crops.length &&
      served.length === row.crops.length &&
      [...row.crops].sort().join() === [...served].sort().join(),
  );
  if (together) return [{row: together, harvests}];
  return harvests.map((harvest) => {
    const row = rule.rows.find(({crops, together: joint}) => !joint && crops.includes(harvest.crop.id));
    if (row) return {row, harvests: [harvest]};
    throw new FieldError(
      "recommend/guide-does-not-fit",
      `${guide.cite} has no ${rule.nutrient} rates for ${harvest.crop.id}.`,
      {hint: "Use a guide made for the crop, or ask for the other nutrients only."},
    );
  });
}

function rateSteps(
  guide: Guide,
  rule: ClassTableRule,
  {options}: Given,
  row: ClassRateRow,
  harvests: readonly Harvest[],
  index: number,
): WorkingStep[] {
  const unit = `lb ${rule.nutrient}/ac`;
  const rate = row.rates[index];
  if (rate === undefined) throw new Error(`${guide.id} has a row with too few rates`);
  if (rate === "removal") {
    return harvests.map((harvest) => {
      const {text, value, cited} = removalTerm(guide, harvest, rule.nutrient, options);
      return {text, value, unit, source: guide.cite, basis: cited.basis};
    });
  }
  const crops = harvests.map(({crop}) => crop.id).join(" and ");
  const text = rate.value === 0 ? `${crops}: nothing is due` : `${crops}: rate of the class`;
  return [{text, value: rate.value, unit, source: guide.cite, basis: rate.basis}];
}

/** A high yield goal can make the removal of the next class larger than the rate of a poorer soil: the table has no answer. */
function removalRemarks(
  guide: Guide,
  rule: ClassTableRule,
  {options}: Given,
  jobs: ReturnType<typeof rowsFor>,
  due: readonly WorkingStep[],
  index: number,
): Issue[] {
  const richer = jobs.flatMap(({row, harvests}) => (row.rates.indexOf("removal") > index ? harvests : []));
  const removed = richer.reduce((sum, harvest) => sum + removalTerm(guide, harvest, rule.nutrient, options).value, 0);
  const rate = due.reduce((sum, {value}) => sum + value, 0);
  if (removed <= rate) return [];
  return [
    {
      code: "recommend/removal-above-class-rate",
      severity: "warning",
      message: `The crops take ${n(removed, 1)} lb ${rule.nutrient}/ac at these yield goals, more than the ${n(rate, 1)} lb the table gives this class: the soil test will fall.`,
      hint: "Check the yield goal; the table's rates are for usual yields.",
    },
  ];
}
