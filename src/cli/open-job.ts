import {readFileSync} from "node:fs";
import {basename, dirname, resolve} from "node:path";
import {FieldError} from "../errors.ts";
import {filesOf} from "../pipeline/files-of.ts";
import type {Job} from "../pipeline/job.ts";
import {readJob} from "../pipeline/read-job.ts";
import {loadFiles} from "./load-files.ts";

export interface OpenedJob {
  readonly job: Job;
  /** The job as written, whatever was left out of the other. */
  readonly whole: Job;
  /** Everything the job reads, under the names it uses. */
  readonly files: ReadonlyMap<string, Uint8Array>;
  /** Absolute paths of the job and everything it reads: no output may replace one. */
  readonly paths: readonly string[];
}

/**
 * Reads a job file and every file it names.
 *
 * @param options.seed - Overrides the job's, as text from the command line.
 * @param options.upToLab - Leaves out the lab results and what rests on them: for work done before there are any.
 * @throws {FieldError} `job/not-found`, `job/bad-seed`, and what `readJob` and `loadFiles` refuse.
 */
export function openJob(
  jobPath: string,
  options: {readonly seed?: string | undefined; readonly upToLab?: boolean} = {},
): OpenedJob {
  const whole = withSeed(readJob(readText(jobPath), jobPath), options.seed);
  const job = options.upToLab ? {...whole, lab: undefined, rates: undefined} : whole;
  const {files, paths} = loadFiles(dirname(resolve(jobPath)), filesOf(job));
  return {job, whole, files, paths: [resolve(jobPath), ...paths]};
}

function readText(path: string): string {
  try {
    return readFileSync(path, "utf8");
  } catch (error) {
    throw new FieldError("job/not-found", `The job file ${path} cannot be read: ${(error as {code?: string}).code}.`, {
      hint: `Check the path; ${basename(path)} is looked for from the current folder.`,
    });
  }
}

function withSeed(job: Job, seed: string | undefined): Job {
  if (seed === undefined) return job;
  if (!/^-?\d{1,15}$/.test(seed)) {
    throw new FieldError("job/bad-seed", `"${seed}" is not a whole number.`, {hint: "Write it as in --seed 7."});
  }
  return {...job, seed: Number(seed)};
}
