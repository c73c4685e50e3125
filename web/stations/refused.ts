import {signal} from "@preact/signals";
import type {ApiProblem} from "../api/types.ts";
import {page, saveJob} from "../state/field.ts";
import {type JobText, type Path, read, write} from "./job-path.ts";

/** A setting that the job would not take, with why. */
export interface Refused {
  readonly path: Path;
  readonly value: unknown;
  readonly along: Along;
  readonly problem: ApiProblem;
  /** What stood in the job when it was refused; the refusal is about no other. */
  readonly instead: unknown;
  /** Its text still stands on the page, to be tried again. */
  readonly stands: boolean;
}

/** What else a job needs once the setting is in it. */
export type Along = (job: JobText) => JobText;

/** By path; only of settings that are on the page. */
const refused = signal<ReadonlyMap<string, Refused>>(new Map());

export const refusalOf = (path: Path): Refused | undefined => refused.value.get(keyOf(path));

/** Forgets a refusal that was told while something else stood in the job. */
export function forgetOlderRefusal(path: Path, value: unknown): void {
  const one = refused.peek().get(keyOf(path));
  if (one && JSON.stringify(one.instead) !== JSON.stringify(value)) forgetRefusal(path);
}

export function forgetRefusal(path: Path): void {
  if (!refused.peek().has(keyOf(path))) return;
  const rest = new Map(refused.peek());
  rest.delete(keyOf(path));
  refused.value = rest;
}

/** Writes a setting; what the same section refused before may go in with it now. */
export async function saveSetting(
  path: Path,
  value: unknown,
  {along = asItIs, stands}: {readonly along?: Along | undefined; readonly stands: boolean},
): Promise<void> {
  if (await put({path, value, along, stands})) await tryRefused(path[0]);
}

/** Tries what a section of the job refused once more, after something else in it was saved. */
export async function tryRefused(section: Path[number] | undefined): Promise<void> {
  for (const one of [...refused.peek().values()]) {
    if (one.path[0] !== section) continue;
    if (one.stands) await put(one);
    else forgetRefusal(one.path);
  }
}

async function put(setting: Omit<Refused, "problem" | "instead">): Promise<boolean> {
  const {path, value, along} = setting;
  const problem = await saveJob((job) => along(write(job, path, value)));
  const instead = read(page.peek()?.job, path);
  if (problem) refused.value = new Map(refused.peek()).set(keyOf(path), {...setting, problem, instead});
  else forgetRefusal(path);
  return problem === undefined;
}

const asItIs: Along = (job) => job;
const keyOf = (path: Path): string => path.join("/");
