import {createHash} from "node:crypto";
import {stepsOf} from "../book/rests-on.ts";
import {filesOf} from "../pipeline/files-of.ts";
import type {Job} from "../pipeline/job.ts";
import {hasLayers} from "../pipeline/make-layers.ts";
import {many} from "../prescription/count-words.ts";
import type {Strategy} from "../sampling/plan.ts";
import type {FieldCard, HandOverCard, Station, StationState} from "./api-types.ts";
import {knownJob} from "./known-job.ts";
import {type FileRef, type RunSpec, refsTo} from "./run-spec.ts";
import type {ShelfField} from "./shelf.ts";

export const STATIONS: readonly Station[] = ["layers", "zones", "plan", "lab", "rates", "compare", "hand-over"];

/** What a run without rates makes. */
const UP_TO_PLAN: readonly Station[] = ["layers", "zones", "plan"];

/** Which steps of a run a station stands for. */
const STEPS: Readonly<Record<Station, RegExp>> = {
  layers: /^layers$/,
  zones: /^zones$/,
  plan: /^plan /,
  lab: /^soil tests /,
  rates: /^rates /,
  compare: /^comparison$/,
  "hand-over": /^prescription /,
};

/**
 * A field among fields: where it lies and how far it has come.
 *
 * @param planned - A run without rates that was made since the last whole one.
 */
export function fieldCard(field: ShelfField, planned?: Pick<RunSpec, "job" | "files">): FieldCard {
  const {id, name, farm, acres, outline, run} = field;
  const job = knownJob(field.job);
  const now = digestsOf(job, refsTo(field.files));
  const then = run && {job: knownJob(run.job), digests: digestsOf(knownJob(run.job), run.files)};
  const drawn = planned ? {job: knownJob(planned.job), digests: digestsOf(knownJob(planned.job), planned.files)} : then;
  const stations = Object.fromEntries(
    STATIONS.map((station) => [station, stateOf(station, job, now, UP_TO_PLAN.includes(station) ? drawn : then)]),
  ) as Record<Station, StationState>;
  stations["hand-over"] = withHandOver(stations["hand-over"], field.handOvers, (out) =>
    out.every((strategy) => job.strategies.includes(strategy))
      ? stateOf("hand-over", job, only(now, out), then).state
      : stations["hand-over"].state,
  );
  const years = job.layers.yield.flatMap(({season}) => (typeof season === "number" ? [season] : []));
  return {
    id,
    name,
    farm,
    acres,
    outline,
    ...(years.length > 0 && {season: Math.max(...years)}),
    stations,
    next: STATIONS.find((station) => stations[station].state !== "done") ?? "hand-over",
  };
}

/** What a run was made of, with the digests of its steps. */
interface Then {
  readonly job: Job;
  readonly digests: ReadonlyMap<string, string>;
}

function stateOf(station: Station, job: Job, now: ReadonlyMap<string, string>, made: Then | undefined): StationState {
  const missing = missingFor(station, job);
  if (missing) return {state: "waiting", line: missing};
  // A run that lacked something for the station went through its steps and made nothing of them.
  const then = made && !missingFor(station, made.job) ? made.digests : new Map<string, string>();
  const asked = [...now].filter(([step]) => STEPS[station].test(step));
  const what = whatOf(station, job);
  if (asked.every(([step, digest]) => then.get(step) === digest)) return {state: "done", line: what};
  if (asked.some(([step]) => then.has(step))) {
    return {state: "stale", line: `${what} Made before the last change: run again.`};
  }
  return {state: "ready", line: `${what} Ready to run.`};
}

/** Without the prescriptions of other strategies. None: all of them. */
const only = (steps: ReadonlyMap<string, string>, strategies: readonly Strategy[]): ReadonlyMap<string, string> =>
  new Map([...steps].filter(([step]) => strategies.length === 0 || strategies.some((one) => step.endsWith(` ${one}`))));

/**
 * Rates that are worked out are only ready to leave; the log of the book says when they did.
 *
 * @param stateFor - Of the prescriptions of some strategies: what was handed over does not change with the others.
 */
function withHandOver(
  made: StationState,
  handOvers: readonly HandOverCard[],
  stateFor: (strategies: readonly Strategy[]) => StationState["state"],
): StationState {
  const last = handOvers.find(({rates}) => rates.length > 0);
  const state = last && made.state !== "waiting" ? stateFor(last.strategies) : made.state;
  if (state === "done") {
    if (!last) return {state: "ready", line: made.line};
    const out = `Handed over ${dayOf(last.at)}`;
    if (!last.inForce) return {state: "stale", line: `${out}; the rates have changed since.`};
    return {state: "done", line: `${out}${last.to ? ` to ${last.to}` : ""}.`};
  }
  if (state === "stale" && last) {
    return {state: "stale", line: `Handed over ${dayOf(last.at)}; the job has changed since.`};
  }
  return made;
}

/** As on this machine's calendar: "25 Nov 2026". */
function dayOf(at: string): string {
  const date = new Date(at);
  return `${date.getDate()} ${MONTHS[date.getMonth()]} ${date.getFullYear()}`;
}

const MONTHS = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];

/** What a station cannot do without, in a sentence; undefined where nothing is missing. */
function missingFor(station: Station, job: Job): string | undefined {
  const zones = job.strategies.includes("zone");
  const ground = hasLayers(job) || job.zones.import !== undefined;
  switch (station) {
    case "layers":
      return hasLayers(job) ? undefined : "Add a yield log, a soil map or elevation.";
    case "zones":
      if (!zones) return "The job asks for no zones.";
      return ground ? undefined : "Zones are made from layers: there are none yet.";
    case "plan":
      return zones && !ground ? "The zone plan waits for zones." : undefined;
    case "lab":
      return job.lab ? undefined : "Add the lab's report on the samples.";
    case "rates":
      if (!job.lab) return "Rates rest on lab results: there are none yet.";
      return job.rates ? undefined : "Say which crops and yield goals, and by which guide.";
    case "compare":
      return job.lab && job.rates ? undefined : "There are no rates to compare yet.";
    case "hand-over":
      if (!job.lab || !job.rates) return "There are no rates to hand over yet.";
      return job.products.length > 0 ? undefined : "Name the products that are to be spread.";
  }
}

function whatOf(station: Station, job: Job): string {
  const {layers, zones, strategies, lab, rates, products, lime, machine} = job;
  switch (station) {
    case "layers": {
      const parts = [
        ...(layers.yield.length > 0 ? [many(layers.yield.length, "yield log")] : []),
        ...(layers.soilMap ? ["a soil map"] : []),
        ...(layers.elevation ? ["elevation"] : []),
        ...(layers.rasters.length + layers.points.length > 0
          ? [many(layers.rasters.length + layers.points.length, "measured layer")]
          : []),
      ];
      return sentence(listed(parts));
    }
    case "zones":
      return `${zonesOf(zones)}${byHand(zones.edits)}.`;
    case "plan":
      return sentence(listed(strategies.map((strategy) => (strategy === "whole-field" ? "whole field" : strategy))));
    case "lab":
      return sentence(many(lab?.files.length ?? 0, "lab report"));
    case "rates":
      return sentence(`rates for ${listed((rates?.crops ?? []).map(({crop}) => crop))}`);
    case "compare":
      return strategies.length > 1 ? `${strategies.length} strategies side by side.` : "One strategy.";
    case "hand-over":
      return sentence(
        `files for ${listed([...products.map(({analysis}) => analysis), ...(lime && machine.lime ? ["lime"] : [])])}`,
      );
  }
}

function zonesOf({import: from, count}: Job["zones"]): string {
  if (from) return `Zones from ${from.file}`;
  return count === "choose" ? "The number of zones is chosen" : many(count, "zone");
}

function byHand(edits: Job["zones"]["edits"]): string {
  if (typeof edits === "string") return `, changed by hand in ${edits}`;
  return edits && edits.length > 0 ? `, then ${many(edits.length, "change")} by hand` : "";
}

/** Whether two jobs with their files plan the sampling in different ways. */
export function plansDiffer(one: Pick<RunSpec, "job" | "files">, other: Pick<RunSpec, "job" | "files">): boolean {
  const [mine, theirs] = [one, other].map(({job, files}) => digestsOf(knownJob(job), files)) as [Digests, Digests];
  return [...mine].some(([step, digest]) => STEPS.plan.test(step) && theirs.get(step) !== digest);
}

/** Whether an id of the one may stand for other ground in the other. Ids that only begin with something else stand for none. */
export function idsMayMove(one: Pick<RunSpec, "job" | "files">, other: Pick<RunSpec, "job" | "files">): boolean {
  return plansDiffer(one, other) && plansDiffer(calledByName(one), calledByName(other));
}

function calledByName({job, files}: Pick<RunSpec, "job" | "files">): Pick<RunSpec, "job" | "files"> {
  const {field, ...rest} = JSON.parse(job);
  const {prefix: _, ...named} = field;
  return {job: JSON.stringify({...rest, field: named}), files};
}

type Digests = ReadonlyMap<string, string>;

/** Digest of each step of a job: its settings, its files and all it rests on. */
function digestsOf(job: Job, files: readonly FileRef[]): ReadonlyMap<string, string> {
  const named = new Set(filesOf(job));
  const read = files.filter(([name]) => named.has(name)).sort(([a], [b]) => (a < b ? -1 : 1));
  const key = JSON.stringify(read);
  const ofJob = digested.get(job) ?? new Map<string, ReadonlyMap<string, string>>();
  digested.set(job, ofJob);
  const known = ofJob.get(key) ?? digestsNow(job, read);
  ofJob.set(key, known);
  return known;
}

/** By the job, which is kept as long as it is in use, and its files. */
const digested = new WeakMap<Job, Map<string, ReadonlyMap<string, string>>>();

function digestsNow(job: Job, files: readonly FileRef[]): Map<string, string> {
  const shas = new Map(files);
  const digests = new Map<string, string>();
  for (const {step, settings, sources, steps} of stepsOf(job, [...shas.keys()])) {
    const on = [settings, [...sources].sort().map((name) => shas.get(name)), steps.map((name) => digests.get(name))];
    digests.set(step, createHash("sha256").update(JSON.stringify(on)).digest("base64"));
  }
  return digests;
}

const sentence = (text: string): string => `${text.charAt(0).toUpperCase()}${text.slice(1)}.`;

function listed(parts: readonly string[]): string {
  return parts.length < 2 ? (parts[0] ?? "nothing") : `${parts.slice(0, -1).join(", ")} and ${parts.at(-1)}`;
}
