import {FieldError, type Issue} from "../errors.ts";
import {type Job, jobSchema} from "./job.ts";
import {sayJobFault} from "./say-job-fault.ts";

/**
 * A job file's text to a job with all defaults filled in.
 *
 * @throws {FieldError} `job/not-json` with the place; `job/not-valid` listing everything that is wrong at once,
 *   unknown keys with the nearest known one.
 */
export function readJob(text: string, file: string): Job {
  let json: unknown;
  try {
    json = JSON.parse(text.replace(/^\uFEFF/, ""));
  } catch (error) {
    throw new FieldError("job/not-json", `${file} is not JSON: ${(error as Error).message}.`, {
      place: {file},
      hint: "Check the commas, quotes and brackets near there.",
    });
  }
  const result = jobSchema.safeParse(json);
  if (result.success) return result.data;
  // A mistyped name explains the missing one, so it is told first.
  const found = result.error.issues.flatMap((issue) => sayJobFault(issue, json));
  const issues = [...found.filter(isUnknownKey), ...found.filter((issue) => !isUnknownKey(issue))];
  const [first] = issues as [Issue, ...Issue[]];
  throw new FieldError("job/not-valid", first.message, {
    place: {file},
    hint: first.hint ?? "See docs/job.md for what a job may hold.",
    issues: issues.slice(1),
  });
}

const isUnknownKey = (issue: Issue): boolean => issue.message.includes(" is not a setting of ");
