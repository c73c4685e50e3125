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
  /** Bag it went into. */
  readonly unit: string;
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
  const units = new Map(plan.units.map((unit) => [idKey(unit.id), unit]));
  const checked = plan.units.length > 0 && plan.units.every(({id}) => hasGoodCheck(id));
  const issues: Issue[] = [];
  const skips = skipsOf(log.skipped, units, checked, issues);

  const bagOf = new Map<LoggedCore, {unit: SamplingUnit; by: TakenCore["by"]}>();
  const strays: LoggedCore[] = [];
  const unnamed: LoggedCore[] = [];
  for (const core of log.cores) {
    const unit = core.sampleId === undefined ? undefined : units.get(idKey(core.sampleId));
    if (unit) bagOf.set(core, {unit, by: "id"});
    else if (core.sampleId === undefined) unnamed.push(core);
    else strays.push(core);
  }
  issues.push(...unknownIds(strays, checked));
  byPlace(plan, unnamed, bagOf, tolerance);
  byTime(log.cores, bagOf);
  for (const core of unnamed) {
    if (bagOf.has(core)) continue;
    const unit = unitAt(plan, core);
    if (unit) bagOf.set(core, {unit, by: "ground"});
    else strays.push(core);
  }
  const nowhere = strays.filter(({sampleId}) => sampleId === undefined);
  if (nowhere.length > 0) issues.push(strayIssue(nowhere));

  const taken = plan.units.map((unit): TakenUnit => {
    const own = log.cores.flatMap((core) => {
      const bag = bagOf.get(core);
      return bag?.unit === unit ? [{core, by: bag.by}] : [];
    });
    const cores = pairUp(plan, unit, own, tolerance);
    const served = new Set(cores.map(({number}) => number));
    const why = skips.get(unit.id);
    return {
      id: unit.id,
      planned: unit.cores.length,
      cores,
      missing: unit.cores.map(({number}) => number).filter((number) => !served.has(number)),
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

/** Ids are the same when they agree without case and outer spaces, as everywhere. */
const idKey = (id: string): string => id.trim().toUpperCase();

function unitAt(plan: SamplingPlan, {x, y}: XY): SamplingUnit | undefined {
  return plan.units.find(({shape}) => contains(shape, x, y));
}

/** Nearest pairs of planned and unnamed cores first. */
function byPlace(
  plan: SamplingPlan,
  unnamed: readonly LoggedCore[],
  bagOf: Map<LoggedCore, {unit: SamplingUnit; by: TakenCore["by"]}>,
  tolerance: Metres,
): void {
  const pairs = unnamed.flatMap((core) =>
    plan.units.flatMap((unit) =>
      unit.cores.flatMap((planned) => {
        const distance = distanceM(core, planned);
        return distance <= tolerance ? [{core, unit, planned, distance}] : [];
      }),
    ),
  );
  pairs.sort((a, b) => a.distance - b.distance);
  const served = new Set<Core>();
  for (const {core, unit, planned} of pairs) {
    if (bagOf.has(core) || served.has(planned)) continue;
    served.add(planned);
    bagOf.set(core, {unit, by: "place"});
  }
}

/** Between two cores of one bag, a core goes into that bag: a crew fills one bag at a time. */
function byTime(cores: readonly LoggedCore[], bagOf: Map<LoggedCore, {unit: SamplingUnit; by: TakenCore["by"]}>): void {
  const timed = cores.filter(({timeS}) => timeS !== undefined);
  const inOrder = timed
    .map((core, i) => ({core, i}))
    .sort((a, b) => (a.core.timeS as number) - (b.core.timeS as number) || a.i - b.i)
    .map(({core}) => core);
  const known = inOrder.map((core) => bagOf.get(core)?.unit);
  inOrder.forEach((core, i) => {
    if (known[i] || core.sampleId !== undefined) return;
    const before = known.slice(0, i).findLast((unit) => unit !== undefined);
    const after = known.slice(i + 1).find((unit) => unit !== undefined);
    if (before && before === after) bagOf.set(core, {unit: before, by: "time"});
  });
}

/** Logged cores of one bag beside its planned ones. */
function pairUp(
  plan: SamplingPlan,
  unit: SamplingUnit,
  own: readonly {readonly core: LoggedCore; readonly by: TakenCore["by"]}[],
  tolerance: Metres,
): TakenCore[] {
  const partner = new Map<LoggedCore, Core>();
  const free = new Set(unit.cores);
  for (const {core} of own) {
    const planned = core.core === undefined ? undefined : unit.cores.find(({number}) => number === core.core);
    if (!planned || !free.delete(planned)) continue;
    partner.set(core, planned);
  }
  const pairs = own
    .filter(({core}) => !partner.has(core))
    .flatMap(({core}) => [...free].map((planned) => ({core, planned, distance: distanceM(core, planned)})))
    .sort((a, b) => a.distance - b.distance || a.planned.number - b.planned.number);
  for (const {core, planned} of pairs) {
    if (partner.has(core) || !free.delete(planned)) continue;
    partner.set(core, planned);
  }
  return own.map(({core, by}): TakenCore => {
    const planned = partner.get(core);
    const ground = contains(unit.shape, core.x, core.y) ? unit : unitAt(plan, core);
    const distance = planned && metres(distanceM(core, planned));
    return {
      unit: unit.id,
      ...(planned && {number: planned.number, planned: {x: planned.x, y: planned.y}}),
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
  units: ReadonlyMap<string, SamplingUnit>,
  checked: boolean,
  issues: Issue[],
): Map<string, string> {
  const skips = new Map<string, string>();
  for (const {sampleId, why, place} of skipped) {
    const unit = units.get(idKey(sampleId));
    if (unit) skips.set(unit.id, why.trim());
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
