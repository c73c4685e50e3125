import {computed, signal} from "@preact/signals";
import {NO_SERVER} from "../api/away.ts";
import {api, got, problemOf} from "../api/client.ts";
import {followTask} from "../api/follow-task.ts";
import type {ApiProblem, FieldPage, ResultCard, RunRequest, TaskState} from "../api/types.ts";
import {tellOtherTabs} from "./other-tabs.ts";
import {queue} from "./queue.ts";
import {forgetShapes} from "./shapes.ts";
import {beginAt, clearSelection, showRatesIf} from "./view.ts";

// The field that is open: its job, its last result and the work going on. Every change goes to the server and comes back.

export const page = signal<FieldPage | undefined>(undefined);
/** Of the field that is open, if any. */
export const fieldId = computed(() => page.value?.card.id);
export const problem = signal<ApiProblem | undefined>(undefined);
/** Why the last undo or redo was refused, until something is changed. */
export const notMoved = signal<ApiProblem | undefined>(undefined);
/** Why a job that asks for rates has none, while its maps and plans are shown. */
export const unrated = signal<ApiProblem | undefined>(undefined);
export const task = signal<TaskState | undefined>(undefined);
export const result = signal<ResultCard | undefined>(undefined);

/** True when maps and ledger show what the job as written asks for. */
export const fresh = computed(() => result.value !== undefined && result.value.version === page.value?.version);
/** Without its plans there is nothing to work out. */
export const canRun = computed(() => page.value !== undefined && page.value.card.stations.plan.state !== "waiting");
export const running = computed(() => task.value?.state === "running");

let stopFollowing: (() => void) | undefined;
let opened: string | undefined;

/** @param viewAgain - Looks at the field as before; false where it has no before. */
export async function openField(id: string, viewAgain: (id: string) => boolean): Promise<void> {
  leaveField();
  opened = id;
  const isSeenAgain = viewAgain(id);
  await load(id);
  // A field that nothing was worked out for opens where it goes on.
  if (opened === id && !isSeenAgain && page.value && !page.value.result) beginAt(page.value.card.next);
}

/** The server was away and is back: shows the field as it has it and goes on with what was being worked out. */
export async function resumeField(): Promise<void> {
  if (opened !== undefined && !loading) await load(opened);
}

/**
 * Shows the field as it is by now, if anything was changed elsewhere. In turn with the changes made here: what was asked
 * before one of them is not shown after it.
 *
 * @param field - That was changed; absent: any.
 */
export const lookAgain = (field?: string): Promise<void> =>
  changes(async () => (field === undefined || field === opened ? lookNow() : undefined));

async function lookNow(): Promise<void> {
  const id = opened;
  if (id === undefined) return;
  const found = await got(api.fields[":id"].$get({param: {id}})).catch(() => undefined);
  if (!found || opened !== id) return;
  if (found.version === page.value?.version && found.result?.id === result.value?.id) return;
  if (found.version !== page.value?.version) unrated.value = undefined;
  show(found);
  void workOut();
}

let loading = false;

async function load(id: string): Promise<void> {
  loading = true;
  try {
    const found = await got(api.fields[":id"].$get({param: {id}}));
    if (opened !== id) return;
    show(found);
    void workOut();
  } catch (error) {
    if (opened === id) tell(error);
  } finally {
    loading = false;
  }
}

export function leaveField(): void {
  stopFollowing?.();
  stopFollowing = undefined;
  opened = undefined;
  page.value = undefined;
  result.value = undefined;
  task.value = undefined;
  problem.value = undefined;
  notMoved.value = undefined;
  unrated.value = undefined;
  forgetShapes();
  clearSelection();
}

type Job = FieldPage["job"];

/**
 * Writes a changed job and, when the server takes it, works it out anew. Resolves to what was wrong with it, if anything.
 *
 * @param next - The job, or what makes it of the one as it stands when the change's turn comes: of two settings changed
 *   in quick succession both are then kept.
 */
export async function saveJob(next: Job | ((job: Job) => Job)): Promise<ApiProblem | undefined> {
  const seen = page.value;
  return change((id) => {
    const base = typeof next === "function" ? page.value : seen;
    const json = typeof next === "function" ? next(base?.job ?? {}) : next;
    return got(api.fields[":id"].job.$put({param: {id}, json, header: versionOf(base)}));
  });
}

export async function undo(): Promise<void> {
  notMoved.value = await change((id) =>
    got(api.fields[":id"].undo.$post({param: {id}, header: versionOf(page.value)})),
  );
}

export async function redo(): Promise<void> {
  notMoved.value = await change((id) =>
    got(api.fields[":id"].redo.$post({param: {id}, header: versionOf(page.value)})),
  );
}

/** A change made to another version is refused. */
export const versionOf = (seen: FieldPage | undefined) => ({"x-job-version": seen && String(seen.version)});

/** Any request that answers with the field's page; one after another. */
export function change(request: (id: string) => Promise<FieldPage>): Promise<ApiProblem | undefined> {
  const id = opened;
  return changes(async () => (id !== undefined && id === opened ? changeNow(id, request) : undefined));
}

const changes = queue();

async function changeNow(id: string, request: (id: string) => Promise<FieldPage>): Promise<ApiProblem | undefined> {
  try {
    const next = await request(id);
    tellOtherTabs(id);
    if (opened !== id) return undefined;
    show(next);
    unrated.value = undefined;
    notMoved.value = undefined;
    void workOut();
    return undefined;
  } catch (error) {
    const wrong = problemOf(error);
    if (wrong.code !== "job/changed") return wrong;
    await lookNow();
    return {...wrong, hint: "The field is now shown as it is; make the change again if it is still wanted."};
  }
}

/** Has what is missing made, and what nobody waits for any more stopped. */
const workOut = (): Promise<void> =>
  inTurn(async () => {
    if (workedOn !== page.value?.version) {
      await cancel();
      task.value = undefined;
    }
    if ((!fresh.value || wantsRates()) && canRun.value) await runNow();
    else if (wantsEvidence() && !running.value) await work({evidence: true});
  });

/** The version that the task is about. */
let workedOn: number | undefined;

/** Works the job out: first what is quick, then how sure it is. */
export const run = (): Promise<void> => inTurn(runNow);

/** Also asks how sure the ledger is, which takes as long as all the rest. */
export const askHowSure = (): Promise<void> => inTurn(() => work({evidence: true}));

async function runNow(): Promise<void> {
  await cancel();
  unrated.value = undefined;
  await work({evidence: false});
}

/** What a run is begun for is decided when its turn comes: no two of this page are asked for at once. */
const inTurn = queue();

export async function cancel(): Promise<void> {
  const now = task.value;
  stopFollowing?.();
  stopFollowing = undefined;
  if (now?.state !== "running") return;
  task.value = {...now, state: "cancelled"};
  await got(api.tasks[":id"].$delete({param: {id: now.id}})).catch(() => undefined);
}

async function work(wanted: RunRequest): Promise<void> {
  const id = opened;
  if (id === undefined) return;
  clearTimeout(rest);
  problem.value = undefined;
  workedOn = page.value?.version;
  try {
    const started = await got(api.fields[":id"].run.$post({param: {id}, json: wanted}));
    if (opened !== id) return;
    task.value = started;
    stopFollowing?.();
    stopFollowing = followTask(started, (state) => void heard(id, state, wanted));
  } catch (error) {
    if (opened === id) tell(error);
  }
}

async function heard(id: string, state: TaskState, wanted: RunRequest): Promise<void> {
  if (opened !== id || task.value?.id !== state.id || task.value.state === "cancelled") return;
  task.value = state;
  if (state.state === "failed") await failed(state, wanted);
  // Ended elsewhere, most likely for a change that was made there.
  if (state.state === "cancelled") await lookAgain();
  if (state.state !== "done") return;
  if (state.result) showResult(state.result);
  const found = await got(api.fields[":id"].$get({param: {id}})).catch(() => undefined);
  if (opened !== id || task.value?.id !== state.id) return;
  if (found) show(found);
  // Changed elsewhere while it was worked out.
  if (found && found.version !== state.result?.version) await workOut();
  else if (fresh.value && !wanted.evidence && wantsEvidence()) restThenAskHowSure(id);
}

/** Who tries one setting after another is not kept waiting by how sure the one before was. */
const REST_MS = 900;
let rest: ReturnType<typeof setTimeout> | undefined;

function restThenAskHowSure(id: string): void {
  clearTimeout(rest);
  rest = setTimeout(() => {
    if (opened === id && fresh.value && wantsEvidence() && !running.value) void askHowSure();
  }, REST_MS);
}

/** That the server is away is said over the whole page. */
function tell(error: unknown): void {
  const found = problemOf(error);
  if (found.code !== NO_SERVER) problem.value = found;
}

/** When rates cannot be made, maps and plans still can. */
async function failed({error}: TaskState, wanted: RunRequest): Promise<void> {
  if (error?.code === NO_SERVER) return;
  if (wanted.upTo === "plan" || wanted.evidence || page.value?.job.lab === undefined) {
    problem.value = error;
    unrated.value = undefined;
    return;
  }
  unrated.value = error;
  await inTurn(async () => {
    if (workedOn === page.value?.version) await work({evidence: false, upTo: "plan"});
  });
}

/** Whether what is shown is plans alone, though the job has lab results. */
const wantsRates = (): boolean => result.value?.upTo === "plan" && page.value?.job.lab !== undefined;

/** Whether there are rates and nothing is known yet of how sure they are. */
const wantsEvidence = (): boolean =>
  result.value?.evidence === undefined && result.value?.strategies.some(({products}) => products.length > 0) === true;

function show(next: FieldPage): void {
  page.value = next;
  problem.value = undefined;
  if (!next.result) result.value = undefined;
  else if (next.result.id !== result.value?.id) showResult(next.result);
}

function showResult(next: ResultCard): void {
  result.value = next;
  showRatesIf(next.strategies.some(({products}) => products.length > 0));
}
