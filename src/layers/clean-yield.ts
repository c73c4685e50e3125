import {FieldError, type Issue} from "../errors.ts";
import type {Field} from "../geo/field.ts";
import type {Provenance} from "../provenance.ts";
import {indexesWhere} from "../stats/pick.ts";
import {quantiles, typicalOf} from "../stats/robust.ts";
import {type CleanYieldOptions, type ResolvedCleanOptions, resolveCleanOptions} from "./clean-options.ts";
import {cleaningIssues} from "./cleaning-issues.ts";
import {type EffectiveSwath, effectiveSwath} from "./effective-swath.ts";
import {type DelayEstimate, estimateDelay} from "./flow-delay.ts";
import {localOutliers} from "./local-outliers.ts";
import {type MachineFactor, matchMachines, shiftsOf} from "./match-machines.ts";
import {grainAfter, type Harvest, harvestOf, recordsAfter} from "./record-yield.ts";
import {screenPasses, screenRecords} from "./screen-records.ts";
import {followTrack, type Track, toLogOrder} from "./track.ts";
import {type CrossCheck, crossCheck} from "./yield-cross-check.ts";
import type {YieldLog} from "./yield-log.ts";
import {countReasons, reasonCode, type YieldReason} from "./yield-reasons.ts";
import {cleaningFacts, meanByArea, type YieldStatistics, yieldStatistics} from "./yield-statistics.ts";

/**
 * A yield log cleaned. Every array has one place per row of the log, in the log's order; nothing is deleted.
 */
export interface CleanedYield {
  readonly id: string;
  readonly crop: string;
  readonly season: number;
  /** Where the grain was cut, metres in the field's frame: the flow was moved along the track, positions are the log's. */
  readonly x: Float64Array;
  readonly y: Float64Array;
  /** At standard moisture, with the delay, width and calibration that were found; NaN where it cannot be told. */
  readonly yieldTPerHa: Float64Array;
  /** Index into `YIELD_REASONS`; 0 is kept. */
  readonly reason: Uint8Array;
  readonly counts: Readonly<Record<YieldReason, number>>;
  /** Rebuilt pass, −1 where nothing was cut or the records do not follow one another. */
  readonly pass: Int32Array;
  /** The rectangle a record was cut from: ends at (x, y), this long against the direction of travel, this wide. */
  readonly lengthM: Float64Array;
  readonly swathM: Float64Array;
  /** Direction of travel, a unit vector; NaN where unknown. */
  readonly east: Float64Array;
  readonly north: Float64Array;
  readonly delay: {readonly appliedS: number; readonly estimate?: DelayEstimate};
  /** Row whose reading weighed the grain cut here: the delay later on the same machine; −1 where the log has none. */
  readonly weighedAt: Int32Array;
  readonly machineFactors: readonly MachineFactor[];
  /** The log's own yield column against ours, where it has both. */
  readonly crossCheck?: CrossCheck;
  /** Yields as logged (no delay, recorded width) and as kept. */
  readonly before: YieldStatistics;
  readonly after: YieldStatistics;
  readonly issues: readonly Issue[];
  readonly madeFrom: Provenance;
}

/** Less than this share of the usual yield is next to no grain. */
const BARE = 0.15;
/** Of a header that may or may not have overlapped, this much must have been in crop. */
const SPLIT_LEAST_SHARE = 0.75;
/** A delay that makes neighbours agree this little better is none: the log was shifted when it was exported. */
const LEAST_GAIN = 0.05;

/**
 * Finds which records of a yield log can be trusted, and what each of them yielded.
 *
 * In order: passes are rebuilt; records without position, with the header up, outside the field, doubled, or at
 * speeds nothing is harvested at are marked, before any statistic; the grain is moved back by the flow delay; width
 * is corrected for ground already cut; ends of passes, sudden speed changes and short passes are marked; yield is
 * worked out; machines are levelled; yields beyond limits, far above the field, or far from their neighbourhood are
 * marked. True zeros stay unless no other pass confirms them.
 *
 * @param log - In the field's frame, SI units; NaN is not recorded. Not changed.
 * @param options - See `CleanYieldOptions`; all have defaults.
 * @param groups - One label per record where crops or varieties differ within the season: bare ground and outliers
 *   are then judged against the usual yield of the label. Default one group.
 * @throws {FieldError} `yield/empty`, `yield/no-swath`, `yield/nothing-measured`, `yield/option`, `yield/none-kept`.
 *
 * Deterministic, no randomness. Order of steps after the protocols of Simbahan, Dobermann and Ping (2004) and Ping
 * and Dobermann (2005), with robust in place of normal statistics. Checked on a synthetic log with known truth.
 */
export function cleanYield(
  log: YieldLog,
  field: Field,
  options: CleanYieldOptions = {},
  groups?: ArrayLike<number | string>,
): CleanedYield {
  const resolved = resolveCleanOptions(options);
  if (log.x.length === 0) {
    throw new FieldError("yield/empty", `The yield log ${log.id} has no records.`, {hint: "Export the log again."});
  }
  const track = followTrack(log);
  const harvest = harvestOf(log, track, resolved);
  const reason = new Uint8Array(track.x.length);
  screenRecords(track, reason, field, resolved);

  const delay = chooseDelay(track, reason, harvest, resolved);
  const raw = yieldsOf(track, harvest, harvest.swathM, delay.appliedS);
  const usual = usualYields(track, raw, groups);
  const bare = Uint8Array.from(raw, (value, k) => (value < BARE * (usual[k] as number) ? 1 : 0));
  const swath = resolved.effectiveSwath ? coverage(track, harvest, bare, field, resolved) : undefined;
  const width =
    swath?.trusted && !swath.split
      ? swath.share.map((share, k) => share * (harvest.swathM[k] as number))
      : harvest.swathM;
  markPartialSwaths(reason, swath, harvest, resolved);
  screenPasses(track, reason, bare, resolved);

  const yields = yieldsOf(track, harvest, width, delay.appliedS);
  mark(reason, "no-yield", (k) => !(Number.isFinite(yields[k] as number) && (yields[k] as number) >= 0));
  const factors = resolved.matchMachines ? levelMachines(track, yields, reason, resolved) : [];
  const {leastYieldTPerHa: least = -Infinity, mostYieldTPerHa: most = Infinity} = resolved;
  mark(reason, "beyond-limits", (k) => (yields[k] as number) < least || (yields[k] as number) > most);
  const level = yields.map((value, k) => value / (usual[k] as number));
  const fence = upperFence(level, reason, resolved.fence);
  mark(reason, "outlier", (k) => (level[k] as number) > fence);
  const odd = localOutliers(
    track.x,
    track.y,
    level,
    track.pass,
    keptOf(reason),
    typicalOf(harvest.swathM),
    resolved.localDeviations,
    bare,
  );
  for (const k of odd) reason[k] = reasonCode("local-outlier");

  const before = yieldsOf(track, harvest, harvest.swathM, 0);
  const after = yields.map((value, k) => (reason[k] === 0 ? value : Number.NaN));
  const counts = countReasons(reason);
  const compared = crossCheck(log, track, harvest);
  const found = {
    counts,
    before: yieldStatistics(track, before),
    after: yieldStatistics(track, after),
    delay,
    machineFactors: factors,
    ...(compared && {crossCheck: compared}),
  };
  const issues = cleaningIssues(log, {...found, swath, harvest, track, meanByArea: meanByArea(track, harvest, width)});
  const toLog = <T extends Float64Array | Int32Array | Uint8Array>(column: T): T => toLogOrder(column, track.record);
  return {
    id: log.id,
    crop: log.crop,
    season: log.season,
    x: log.x.slice(),
    y: log.y.slice(),
    yieldTPerHa: toLog(yields),
    reason: toLog(reason),
    pass: toLog(track.pass),
    lengthM: toLog(track.distanceM),
    swathM: toLog(width).slice(),
    east: toLog(track.east),
    north: toLog(track.north),
    weighedAt: toLog(recordsAfter(track, delay.appliedS)),
    ...found,
    issues,
    madeFrom: {
      step: "layers/clean-yield",
      inputs: [log.id],
      options: {...resolved},
      found: cleaningFacts({...found, reason}),
    },
  };
}

/** Yield of each place along the track, t/ha: grain that reached the sensor `delayS` later over ground at that moment. */
function yieldsOf(track: Track, harvest: Harvest, widthM: Float64Array, delayS: number): Float64Array {
  const grain = track.ordered ? grainAfter(track, harvest.grainKgPerS, delayS) : harvest.grainKgPerS;
  const yields = new Float64Array(grain.length);
  for (let k = 0; k < yields.length; k++) {
    const share = (widthM[k] as number) / (harvest.swathM[k] as number);
    const area = (harvest.areaM2PerS[k] as number) * (Number.isNaN(share) ? 1 : share);
    yields[k] = area > 0 ? (10 * (grain[k] as number)) / area : Number.NaN;
  }
  return yields;
}

function chooseDelay(
  track: Track,
  reason: Uint8Array,
  harvest: Harvest,
  {delayS}: ResolvedCleanOptions,
): CleanedYield["delay"] {
  if (!track.ordered) return {appliedS: 0};
  if (delayS !== "estimate") return {appliedS: delayS};
  const estimate = estimateDelay(track, reason, harvest);
  const {delayS: found = 0, gain = 0} = estimate;
  return {appliedS: gain < LEAST_GAIN ? 0 : found, estimate};
}

/** The usual yield of each record's own kind: the median of its group, t/ha (1 where nothing grew). */
function usualYields(track: Track, yields: Float64Array, groups?: ArrayLike<number | string>): Float64Array {
  if (!groups) return new Float64Array(yields.length).fill(typicalOf(yields) || 1);
  const members = new Map<number | string, number[]>();
  track.record.forEach((i, k) => {
    const group = groups[i] as number | string;
    const list = members.get(group);
    if (list) list.push(k);
    else members.set(group, [k]);
  });
  const usual = new Float64Array(yields.length);
  for (const places of members.values()) {
    const own = typicalOf(Float64Array.from(places, (k) => yields[k] as number)) || 1;
    for (const k of places) usual[k] = own;
  }
  return usual;
}

/** Needs records that follow one another: loose points cut nothing between them. */
function coverage(
  track: Track,
  harvest: Harvest,
  bare: Uint8Array,
  field: Field,
  {clipSwathToBoundary}: ResolvedCleanOptions,
): EffectiveSwath | undefined {
  if (!track.ordered || !harvest.swathM.some((width) => width > 0)) return undefined;
  return effectiveSwath(track, harvest.swathM, bare, field, clipSwathToBoundary);
}

function markPartialSwaths(
  reason: Uint8Array,
  swath: EffectiveSwath | undefined,
  harvest: Harvest,
  {leastSwathShare}: ResolvedCleanOptions,
): void {
  // Where it cannot be told which of two passes came first, both are set aside unless they overlap by little.
  const least = swath?.split ? Math.max(SPLIT_LEAST_SHARE, leastSwathShare) : leastSwathShare;
  mark(reason, "partial-swath", (k) => {
    const off = (harvest.swathM[k] as number) <= 0;
    return off || (swath?.trusted === true && (swath.share[k] as number) < least);
  });
}

/** Multiplies the yields of each machine and day by its factor. */
function levelMachines(
  track: Track,
  yields: Float64Array,
  reason: Uint8Array,
  {matchDays}: ResolvedCleanOptions,
): readonly MachineFactor[] {
  const work = shiftsOf(track, matchDays);
  const {factors, byShift} = matchMachines(track.x, track.y, yields, work, keptOf(reason));
  if (factors.length === 0) return factors;
  for (let k = 0; k < yields.length; k++) {
    yields[k] = (yields[k] as number) * (byShift[work.shift[k] as number] as number);
  }
  return factors;
}

/** Zeros are left out, so that a drowned part does not widen or narrow the fence. */
function upperFence(yields: Float64Array, reason: Uint8Array, reach: number): number {
  const grown = yields.map((value, k) => (reason[k] === 0 && value > 0 ? value : Number.NaN));
  const [lower, upper] = quantiles(grown, [0.25, 0.75]) as [number, number];
  return Number.isNaN(upper) ? Infinity : upper + reach * (upper - lower);
}

function mark(reason: Uint8Array, name: YieldReason, isSo: (k: number) => boolean): void {
  const code = reasonCode(name);
  for (let k = 0; k < reason.length; k++) if (reason[k] === 0 && isSo(k)) reason[k] = code;
}

function keptOf(reason: Uint8Array): Int32Array {
  return indexesWhere(reason.length, (k) => reason[k] === 0);
}
