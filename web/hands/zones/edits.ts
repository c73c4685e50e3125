import type {ApiProblem, ZoneEdit} from "../../api/types.ts";
import {page, result, saveJob} from "../../state/field.ts";
import {type JobText, read, write} from "../../stations/job-path.ts";

const PATH = ["zones", "edits"] as const;

/** Edits in the job, or the file they stand in. */
export function editsInJob(): readonly ZoneEdit[] | string {
  return (read(page.value?.job, PATH) as readonly ZoneEdit[] | string | undefined) ?? [];
}

/** Writes edits after those that are there. Resolves to what was wrong with them, if anything. */
export function addEdits(...edits: readonly ZoneEdit[]): Promise<ApiProblem | undefined> {
  return save([...listed(), ...edits]);
}

export function takeOutEdit(index: number): Promise<ApiProblem | undefined> {
  return save(listed().filter((_, i) => i !== index));
}

export const takeOutAll = (): Promise<ApiProblem | undefined> => save([]);

function listed(): readonly ZoneEdit[] {
  const found = editsInJob();
  if (typeof found === "string") throw new Error("edits that stand in a file are not changed here");
  return found;
}

async function save(edits: readonly ZoneEdit[]): Promise<ApiProblem | undefined> {
  if (!page.value) return undefined;
  const job = write(withMark(page.value.job), PATH, edits.length > 0 ? edits : undefined);
  return saveJob(job);
}

/**
 * Results that were joined by sample id speak for the zones as they were sampled. Before the zones are changed, the job
 * gets the mark of the plan they were taken by, so that they are never joined to other ground in silence.
 */
function withMark(job: JobText): JobText {
  const made = result.value;
  const zone = made?.strategies.find(({strategy}) => strategy === "zone");
  const lab = read(job, ["lab"]) as {places?: unknown; files?: readonly {x?: unknown}[]} | undefined;
  const marked = read(job, ["lab", "plans", "zone"]) !== undefined;
  const byPlace = lab?.places !== undefined || lab?.files?.some(({x}) => x !== undefined) === true;
  const repeated = read(job, ["sampling", "zone", "repeat"]) !== undefined;
  if (!lab || marked || byPlace || repeated) return job;
  if (!zone?.products.length || made?.version !== page.value?.version) return job;
  return write(job, ["lab", "plans", "zone"], zone.mark);
}
