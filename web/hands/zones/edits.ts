import type {ApiProblem, ZoneEdit} from "../../api/types.ts";
import {page, saveJob} from "../../state/field.ts";
import {read, write} from "../../stations/job-path.ts";

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
  const job = write(page.value.job, PATH, edits.length > 0 ? edits : undefined);
  return saveJob(job);
}
