import {FieldError, type Issue, isFieldError} from "../errors.ts";
import {misfitsIn} from "../recommend/fit-test.ts";
import type {Guide} from "../recommend/guide.ts";
import {findRelation} from "../recommend/method-relations.ts";
import type {Job} from "./job.ts";

/** Refusals that may only mean that a result did not find its unit. */
const NO_RESULT: readonly string[] = [
  "recommend/no-test",
  "recommend/no-cec",
  "lime/no-test",
  "lime/buffer",
  "prescription/no-rate",
];

/** Whether a refusal may only mean that a unit has no result. */
export const lacksResult = ({code}: FieldError): boolean => NO_RESULT.includes(code);

/** Remarks on how plan and report were reconciled. */
const RECONCILED = [
  "lab/proposed-match",
  "lab/unknown-id",
  "lab/no-results",
  "lab/no-place",
  "lab/no-place-in-unit",
  "lab/place-outside",
  "lab/excluded",
  "lab/to-be-run-again",
];

/**
 * A refusal of the guide told with what the job can do about it, by the names of its settings.
 *
 * A missing result brings along how plan and report were reconciled: a mistyped id shows there.
 *
 * @param remarks - Those of the run so far.
 */
export function explainRefusal<T>(job: Job, guide: Guide | undefined, remarks: readonly Issue[], work: () => T): T {
  try {
    return work();
  } catch (error) {
    if (!isFieldError(error)) throw error;
    const {code, message, place, hint, issues} = error;
    const missing = lacksResult(error);
    const way = missing ? wayForMissing(job) : code === "recommend/guide-does-not-fit" ? waysToFit(guide, message) : "";
    if (way === "") throw error;
    throw new FieldError(code, message, {
      place,
      hint: [hint, way].filter(Boolean).join(" "),
      issues: missing ? [...issues, ...remarks.filter((remark) => RECONCILED.includes(remark.code))] : issues,
    });
  }
}

function wayForMissing({rates}: Job): string {
  const join = 'If the result stands under another id, join the two by "accepted" under "lab"';
  return rates?.missing === "zero"
    ? `${join}. No unit of the plan has it: give results, or take the plan or the product out of the job.`
    : `${join}; to spread nothing there, set "missing": "zero" under "rates", or "leave out" to go on without this plan.`;
}

function waysToFit(guide: Guide | undefined, message: string): string {
  const misfits = misfitsIn(message);
  if (/, and the field is in /.test(message)) return 'If the field lies elsewhere, correct "state" under "rates".';
  const ways: string[] = [];
  if (misfits.some(({kind}) => kind === "unit")) ways.push('Set "toPpm": true under "lab" to have lb/ac converted.');
  const methods = misfits.filter(({kind}) => kind === "method");
  for (const {analyte, found} of methods) {
    const relation = (guide?.conversions ?? [])
      .map(findRelation)
      .find((one) => one.analyte === analyte && one.from.some((method) => method === found));
    ways.push(
      relation
        ? `Set "convertMethod": true under "rates" to have it converted to ${relation.to} (${relation.id}: ${relation.rule}).`
        : `No relation the guide allows converts ${analyte} by ${found}.`,
    );
  }
  if (misfits.some(({kind}) => kind === "depth")) {
    ways.push(
      'If that is not how deep the soil was sampled, correct "depth" of the file under "lab" or under "sampling".',
    );
  }
  if (misfits.some(({kind}) => kind !== "unit")) {
    ways.push('To run the guide for arithmetic only, give "acceptMethod": {"reason": "…"} under "rates".');
  }
  return ways.join(" ");
}
