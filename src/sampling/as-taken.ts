import type {Issue, Place} from "../errors.ts";
import {contains, distanceM} from "../geo/measure.ts";
import type {XY} from "../geo/shapes.ts";
import type {Provenance} from "../provenance.ts";
import {hasGoodCheck} from "../units/check-character.ts";
import {METRES_PER_FOOT} from "../units/factors.ts";
import {type Metres, metres} from "../units/quantity.ts";
import {remarksOnTaken} from "./as-taken-remarks.ts";
import type {Core, SamplingPlan, SamplingUnit} from "./plan.ts";

/** One core as the crew's log has it, metres in the field's frame. */
export interface LoggedCore extends XY {
  /** As written; undefined where the log only has places. */
  readonly sampleId?: string;
  /** Number of the core within its unit, where the log says it. */
  readonly core?: number;
  /** Seconds since any one moment. */
  readonly timeS?: number;
  /** Where in the log it stands. */
  readonly place: Place;
}

/** A bag the crew says it left out, and why. */
export interface LoggedSkip {
  readonly sampleId: string;
  readonly why: string;
  readonly place: Place;
}

export interface TakenLog {
  readonly cores: readonly LoggedCore[];
  readonly skipped: readonly LoggedSkip[];
}

export interface TakenOptions {
  /**
   * How far from its mark a core may be taken without a remark. Default 15 ft: the accuracy of a hand-held receiver
   * without corrections and a step aside (common practice, no source).
   */
  readonly tolerance?: Metres | undefined;
}

/** One core that was taken: where, and where it was to be. */
export interface TakenCore {
  /** Bag it went into, and the unit that bag speaks for. */
  readonly bag: string;
  readonly on: string;
  /** The planned core it stands for; undefined for one more than planned. */
  readonly number?: number;
  readonly planned?: XY;
  readonly taken: XY;
  /** From where it was planned. */
  readonly distance?: Metres;
  readonly timeS?: number;
  /** How its bag is known: its id is written, it lies by a planned core, its neighbours in time agree, or it lies in the unit. */
  readonly by: "id" | "place" | "time" | "ground";
  /** Unit whose ground it was really taken on; undefined outside all of them. */
  readonly fellIn?: string;
  /** Further from its mark than the tolerance, or not on the ground of its bag. */
  readonly off: boolean;
}

/** One bag after sampling. */
export interface TakenUnit {
  readonly id: string;
  readonly planned: number;
  readonly cores: readonly TakenCore[];
  /** Numbers of planned cores no logged core stands for. */
  readonly missing: readonly number[];
  /** Why the bag was left out, in the crew's words. */
  readonly skipped?: string;
}

/** A plan as it was carried out: both places of every core are kept, the plan itself is not changed. */
export interface AsTaken {
  readonly strategy: SamplingPlan["strategy"];
  readonly units: readonly TakenUnit[];
  /** Logged cores that belong to no bag of the plan. */
  readonly strays: readonly LoggedCore[];
  readonly meanDistance?: Metres;
  readonly mostDistance?: Metres;
  readonly issues: readonly Issue[];
  readonly madeFrom: Provenance;
}

/**
 * Puts what the crew logged beside what was planned.
 *
 * A core with a written id goes into the bag of that id, wherever it was taken. A core without one goes to the nearest
 * planned core within the tolerance, each planned core serving once; else, where the log has times, to the bag that the
 * logged cores before and after it share; else to the bag on whose ground it lies. What is left is a stray. Within a
 * bag, cores are paired with planned ones by their written number, then the nearest pair first.
 *
 * Never guesses an id: one that is not in the plan is remarked on, its cores are strays, and where the plan's ids carry a
 * check character the remark says whether it was misread.
 */
export function asTaken(plan: SamplingPlan, log: TakenLog, options: TakenOptions = {}): AsTaken {
  const {tolerance = metres(15 * METRES_PER_FOOT)} = options;
  const bags = bagsIn(plan);
  const byId = new Map(bags.map((bag) => [idKey(bag.id), bag]));
  const checked = bags.length > 0 && bags.every(({id}) => hasGoodCheck(id));
  const issues: Issue[] = [];
  const skips = skipsOf(log.skipped, byId, checked, issues);

  const bagOf: Bags = new Map();
  const strays: LoggedCore[] = [];
  const unnamed: LoggedCore[] = [];
  for (const core of log.cores) {
    const bag = core.sampleId === undefined ? undefined : byId.get(idKey(core.sampleId));
    if (bag) bagOf.set(core, {bag, by: "id"});
    else if (core.sampleId === undefined) unnamed.push(core);
    else strays.push(core);
  }
  issues.push(...unknownIds(strays, checked));
  byPlace(bags, unnamed, bagOf, tolerance);
  byTime(log.cores, bagOf);
  for (const core of unnamed) {
    if (bagOf.has(core)) continue;
    const bag = bags.find(({unit}) => unit === unitAt(plan, core));
    if (bag) bagOf.set(core, {bag, by: "ground"});
    else strays.push(core);
  }
  const nowhere = strays.filter(({sampleId}) => sampleId === undefined);
  if (nowhere.length > 0) issues.push(strayIssue(nowhere));

  const taken = bags.map((bag): TakenUnit => {
    const own = log.cores.flatMap((core) => {
      const found = bagOf.get(core);
      return found?.bag === bag ? [{core, by: found.by}] : [];
    });
    const cores = pairUp(plan, bag, own, tolerance);
    const served = new Set(cores.map(({number}) => number));
    const why = skips.get(bag.id);
    return {
      id: bag.id,
      planned: bag.cores.length,
      cores,
      missing: bag.cores.map(({number}) => number).filter((number) => !served.has(number)),
      ...(why !== undefined && {skipped: why}),
    };
  });
  const distances = taken.flatMap(({cores}) =>
    cores.flatMap(({distance}) => (distance === undefined ? [] : [distance])),
  );
  issues.push(...remarksOnTaken(taken, tolerance));
  return {
    strategy: plan.strategy,
    units: taken,
    strays,
    ...(distances.length > 0 && {
      meanDistance: metres(distances.reduce((sum, d) => sum + d, 0) / distances.length),
      mostDistance: metres(Math.max(...distances)),
    }),
    issues,
    madeFrom: {
      step: `sampling/as-taken ${plan.strategy}`,
      inputs: [...new Set([...log.cores, ...log.skipped].flatMap(({place}) => (place.file ? [place.file] : [])))],
      options: {tolerance},
    },
  };
}

// --- inside ---------------------------------------------------------------------------------------------------

/** A bag and the ground it is taken from; a unit's second bag has cores of its own. */
interface Bag {
  readonly id: string;
  readonly cores: readonly Core[];
  readonly unit: SamplingUnit;
}

type Bags = Map<LoggedCore, {readonly bag: Bag; readonly by: TakenCore["by"]}>;

function bagsIn({units, duplicates = []}: SamplingPlan): Bag[] {
  return units.flatMap((unit) => [
    {id: unit.id, cores: unit.cores, unit},
    ...duplicates.filter(({of}) => of === unit.id).map(({id, cores}) => ({id, cores, unit})),
  ]);
}

/** Ids are the same when they agree without case and outer spaces, as everywhere. */
const idKey = (id: string): string => id.trim().toUpperCase();

function unitAt(plan: SamplingPlan, {x, y}: XY): SamplingUnit | undefined {
  return plan.units.find(({shape}) => contains(shape, x, y));
}

/** Nearest pairs of planned and unnamed cores first. */
function byPlace(bags: readonly Bag[], unnamed: readonly LoggedCore[], bagOf: Bags, tolerance: Metres): void {
  const pairs = unnamed.flatMap((core) =>
    bags.flatMap((bag) =>
      bag.cores.flatMap((planned) => {
        const distance = distanceM(core, planned);
        return distance <= tolerance ? [{core, bag, planned, distance}] : [];
      }),
    ),
  );
  pairs.sort((a, b) => a.distance - b.distance);
  const served = new Set<Core>();
  for (const {core, bag, planned} of pairs) {
    if (bagOf.has(core) || served.has(planned)) continue;
    served.add(planned);
    bagOf.set(core, {bag, by: "place"});
  }
}

/** Between two cores of one bag, a core goes into that bag: a crew fills one bag at a time. */
function byTime(cores: readonly LoggedCore[], bagOf: Bags): void {
  const timed = cores.filter(({timeS}) => timeS !== undefined);
  const inOrder = timed
    .map((core, i) => ({core, i}))
    .sort((a, b) => (a.core.timeS as number) - (b.core.timeS as number) || a.i - b.i)
    .map(({core}) => core);
  const known = inOrder.map((core) => bagOf.get(core)?.bag);
  inOrder.forEach((core, i) => {
    if (known[i] || core.sampleId !== undefined) return;
    const before = known.slice(0, i).findLast((bag) => bag !== undefined);
    const after = known.slice(i + 1).find((bag) => bag !== undefined);
    if (before && before === after) bagOf.set(core, {bag: before, by: "time"});
  });
}

/** Logged cores of one bag beside its planned ones. */
function pairUp(
  plan: SamplingPlan,
  {id, cores: planned, unit}: Bag,
  own: readonly {readonly core: LoggedCore; readonly by: TakenCore["by"]}[],
  tolerance: Metres,
): TakenCore[] {
  const partner = new Map<LoggedCore, Core>();
  const free = new Set(planned);
  for (const {core} of own) {
    const mark = core.core === undefined ? undefined : planned.find(({number}) => number === core.core);
    if (mark && free.delete(mark)) partner.set(core, mark);
  }
  const pairs = own
    .filter(({core}) => !partner.has(core))
    .flatMap(({core}) => [...free].map((mark) => ({core, mark, distance: distanceM(core, mark)})))
    .sort((a, b) => a.distance - b.distance || a.mark.number - b.mark.number);
  for (const {core, mark} of pairs) if (!partner.has(core) && free.delete(mark)) partner.set(core, mark);
  return own.map(({core, by}): TakenCore => {
    const mark = partner.get(core);
    const ground = contains(unit.shape, core.x, core.y) ? unit : unitAt(plan, core);
    const distance = mark && metres(distanceM(core, mark));
    return {
      bag: id,
      on: unit.id,
      ...(mark && {number: mark.number, planned: {x: mark.x, y: mark.y}}),
      taken: {x: core.x, y: core.y},
      ...(distance !== undefined && {distance}),
      ...(core.timeS !== undefined && {timeS: core.timeS}),
      by,
      ...(ground && {fellIn: ground.id}),
      off: ground !== unit || (distance !== undefined && distance > tolerance),
    };
  });
}

function skipsOf(
  skipped: readonly LoggedSkip[],
  bags: ReadonlyMap<string, Bag>,
  checked: boolean,
  issues: Issue[],
): Map<string, string> {
  const skips = new Map<string, string>();
  for (const {sampleId, why, place} of skipped) {
    const bag = bags.get(idKey(sampleId));
    if (bag) skips.set(bag.id, why.trim());
    else issues.push(unknownId(sampleId, 1, place, checked));
  }
  return skips;
}

function unknownIds(strays: readonly LoggedCore[], checked: boolean): Issue[] {
  const byId = new Map<string, LoggedCore[]>();
  for (const core of strays) {
    const id = (core.sampleId as string).trim();
    byId.set(id, [...(byId.get(id) ?? []), core]);
  }
  return [...byId].map(([id, cores]) => unknownId(id, cores.length, (cores[0] as LoggedCore).place, checked));
}

function unknownId(id: string, count: number, place: Place, checked: boolean): Issue {
  const misread = checked && !hasGoodCheck(id);
  return {
    code: misread ? "taken/misread-id" : "taken/unknown-id",
    severity: "warning",
    message: `"${id}" in the sampling log is no bag of the plan${misread ? ": its check character does not fit, so it was misread or mistyped" : ""}; ${count === 1 ? "what it says was" : `its ${count} cores were`} left out.`,
    place,
    hint: "Compare it with the label on the bag and correct the log.",
  };
}

function strayIssue(strays: readonly LoggedCore[]): Issue {
  return {
    code: "taken/stray",
    severity: "warning",
    message: `${strays.length} logged ${strays.length === 1 ? "place lies in no unit of the plan and was" : "places lie in no unit of the plan and were"} left out.`,
    place: (strays[0] as LoggedCore).place,
    hint: "Check that the log is of this field, and the order of longitude and latitude.",
  };
}
