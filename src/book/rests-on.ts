import {encodeUtf8} from "../formats/text.ts";
import type {Strategy} from "../sampling/plan.ts";

// What each step of a run rests on: part of the job, files, earlier steps. From this the book knows what has to be made
// again when one of them changes.

/** The parts of a job the book has to tell apart; a job of the pipeline is one. */
export interface BookJob {
  readonly farm?: string | undefined;
  readonly seed: number;
  readonly field: {readonly name: string; readonly prefix?: string | undefined};
  readonly strategies: readonly Strategy[];
  readonly layers: {
    /** Season and crop where the job itself says them, and not a column of the log. */
    readonly yield: readonly {readonly season: number | object; readonly crop: string | object}[];
  };
  readonly zones: object;
  readonly sampling: {
    readonly wholeField: object;
    readonly grid: object;
    readonly zone: object;
    readonly taken?: object | undefined;
  };
  readonly lab?: {readonly date?: string | undefined; readonly plans: object} | undefined;
  readonly rates?:
    | {readonly goals: string; readonly crops: readonly {readonly crop: string; readonly year?: number | undefined}[]}
    | undefined;
  readonly lime?: unknown;
  readonly products?: unknown;
  readonly machine?: unknown;
  /** Whatever else a job holds counts as asked of the comparison, which comes last. */
  readonly [other: string]: unknown;
}

export interface AskedStep {
  /** As in "zones", "plan grid", "rates zone". */
  readonly step: string;
  /** The part of the job it rests on, as JSON with sorted keys. */
  readonly settings: string;
  /** Names of files. */
  readonly sources: readonly string[];
  /** Names of earlier steps. */
  readonly steps: readonly string[];
}

const OWN_SAMPLING = {"whole-field": "wholeField", grid: "grid", zone: "zone"} as const;

/** The steps a job asks for, in an order in which each comes after those it rests on. */
export function stepsOf(job: BookJob, fileNames: readonly string[]): AskedStep[] {
  const {seed, field, strategies, layers, zones, sampling, lab, rates, lime, products, machine, ...others} = job;
  // What was spread is compared later, by a command of its own.
  const {$schema: _schema, farm: _farm, asApplied: _applied, ...rest} = others;
  const steps: AskedStep[] = [];
  const add = (step: string, settings: object, on: readonly string[]): void => {
    const before = new Set(steps.map((one) => one.step));
    steps.push({
      step,
      settings: canonicalJson(settings),
      sources: filesNamedIn(settings, fileNames),
      steps: on.filter((name) => before.has(name)),
    });
  };
  add("boundary", {field}, []);
  if (filesNamedIn(layers, fileNames).length > 0) add("layers", {layers, seed}, ["boundary"]);
  if (strategies.includes("zone")) add("zones", {zones, seed}, ["boundary", "layers"]);
  const {wholeField: _all, grid: _grid, zone: _zone, taken, ...shared} = sampling;
  for (const strategy of strategies) {
    const own = sampling[OWN_SAMPLING[strategy]];
    add(`plan ${strategy}`, {...shared, own, seed}, ["boundary", ...(strategy === "zone" ? ["zones"] : [])]);
    if (taken) add(`as taken ${strategy}`, {taken}, [`plan ${strategy}`]);
    // Marks of the plans that results are tied to refuse a run or let it go on, and change nothing in it.
    if (lab) add(`soil tests ${strategy}`, {lab: {...lab, plans: {}}}, [`plan ${strategy}`]);
    if (lab && (rates || lime)) {
      const history = rates?.goals === "from yield history" ? ["layers"] : [];
      add(`rates ${strategy}`, {rates, lime}, [`soil tests ${strategy}`, ...history]);
      add(`prescription ${strategy}`, {products, machine}, [`rates ${strategy}`]);
    }
  }
  add(
    "comparison",
    {strategies, ...rest},
    strategies.flatMap((strategy) => [`plan ${strategy}`, `prescription ${strategy}`]),
  );
  return steps;
}

/** JSON with the keys of objects in order, so that the same settings give the same text. */
export function canonicalJson(value: unknown): string {
  return JSON.stringify(value, (_, part: unknown) =>
    part !== null && typeof part === "object" && !Array.isArray(part)
      ? Object.fromEntries(Object.entries(part).sort(([a], [b]) => (a < b ? -1 : a > b ? 1 : 0)))
      : part,
  );
}

/** Digest of a step: its settings and the digests of all it rests on. */
export function digestOf(
  sha256: (bytes: Uint8Array) => string,
  settingsSha256: string,
  inputs: readonly {readonly kind: string; readonly name: string; readonly digest: string}[],
): string {
  const sorted = inputs.map(({kind, name, digest}) => [kind, name, digest].join("\n")).sort();
  return sha256(encodeUtf8([settingsSha256, ...sorted].join("\n\n")));
}

/** Files whose names stand anywhere in a part of a job, with the other members of loose shapefiles and task data. */
function filesNamedIn(part: unknown, fileNames: readonly string[]): string[] {
  const words = new Set<string>();
  collectWords(part, words);
  const named = fileNames.filter((name) => words.has(name));
  const stems = new Set(named.filter((name) => /\.shp$/i.test(name)).map(stemOf));
  const folders = new Set(named.filter((name) => /(^|\/)taskdata\.xml$/i.test(name)).map(folderOf));
  const beside = (name: string): boolean =>
    (/\.(shx|dbf|prj|cpg)$/i.test(name) && stems.has(stemOf(name))) ||
    (/(^|\/)[A-Z]{3}\d{5}\.(xml|bin)$/i.test(name) && folders.has(folderOf(name)));
  return fileNames.filter((name) => words.has(name) || beside(name));
}

function collectWords(part: unknown, words: Set<string>): void {
  if (typeof part === "string") words.add(part);
  else if (Array.isArray(part)) for (const item of part) collectWords(item, words);
  else if (part !== null && typeof part === "object") for (const item of Object.values(part)) collectWords(item, words);
}

const stemOf = (name: string): string => name.replace(/\.[^.]*$/, "").toLowerCase();
const folderOf = (name: string): string => name.slice(0, name.lastIndexOf("/") + 1);
