import {createHash} from "node:crypto";
import {existsSync, readFileSync} from "node:fs";
import {dirname} from "node:path";
import {fileURLToPath} from "node:url";
import {loadFiles} from "../../src/cli/load-files.ts";
import {nodeSqlite} from "../../src/cli/sqlite-host.ts";
import {filesOf} from "../../src/pipeline/files-of.ts";
import type {Host} from "../../src/pipeline/host.ts";
import type {Job} from "../../src/pipeline/job.ts";
import {readJob} from "../../src/pipeline/read-job.ts";
import {type RunResult, runJob} from "../../src/pipeline/run.ts";

const ROOT = fileURLToPath(new URL("../..", import.meta.url));

/** Open data that tests may read where it is present; it is no part of the project. */
export const hasSharedData = existsSync(`${ROOT}/../shared/data`);

/** A host that shows nothing and never cancels. */
const quietHost: Host = {
  sha256: async (bytes) => createHash("sha256").update(bytes).digest("hex"),
  progress: () => {},
  pause: async () => {},
  isCancelled: () => false,
  sqlite: nodeSqlite,
};

/** Runs a job file, its path from the root of the project, after `change` has had a look at the job. */
export async function runJobFile(path: string, change: (job: Job) => Job = (job) => job): Promise<RunResult> {
  const full = `${ROOT}/${path}`;
  const job = change(readJob(readFileSync(full, "utf8"), path));
  return runJob(job, loadFiles(dirname(full), filesOf(job)).files, quietHost);
}

/** One output of a run as JSON. */
export function jsonOf(result: RunResult, name: string): unknown {
  const bytes = result.outputs.get(name);
  if (!bytes) throw new Error(`the run wrote no ${name}`);
  return JSON.parse(new TextDecoder().decode(bytes));
}
