import {moran, nearestNeighbours} from "../stats/moran.ts";
import {indexesWhere, pick} from "../stats/pick.ts";
import {type Description, describe} from "../stats/robust.ts";
import type {CleanedYield} from "./clean-yield.ts";
import type {Harvest} from "./record-yield.ts";
import type {Track} from "./track.ts";

export interface YieldStatistics extends Description {
  /** Moran's I with 8 neighbours, estimated on about 2,000 records. */
  readonly moranI: number;
}

/** Statistics of the yields that are known, along the track. */
export function yieldStatistics(track: Track, yields: Float64Array): YieldStatistics {
  const known = indexesWhere(yields.length, (k) => Number.isFinite(yields[k] as number));
  const values = pick(yields, known);
  const every = Math.max(1, Math.floor(known.length / 2000));
  const neighbours = nearestNeighbours(pick(track.x, known), pick(track.y, known), 8, every);
  return {...describe(values), moranI: moran(values, neighbours).i};
}

/** All dry grain over all ground cut: what a weigh ticket would say. Delay, ramps and stops do no harm to it. */
export function meanByArea(track: Track, harvest: Harvest, widthM: Float64Array): number {
  let grain = 0;
  let area = 0;
  for (let k = 0; k < track.x.length; k++) {
    const seconds = track.intervalS[k] as number;
    const kg = (harvest.grainKgPerS[k] as number) * seconds;
    if (kg >= 0) grain += kg;
    if (track.ordered && track.pass[k] === -1) continue;
    const share = (widthM[k] as number) / (harvest.swathM[k] as number);
    const m2 = (harvest.areaM2PerS[k] as number) * seconds * (Number.isNaN(share) ? 1 : share);
    if (m2 >= 0) area += m2;
  }
  return (10 * grain) / area;
}

/** What a cleaning found, short enough for the record of a run: counts, statistics before and after, the delay's curve. */
export function cleaningFacts({
  reason,
  counts,
  before,
  after,
  delay,
  machineFactors,
  crossCheck,
}: Pick<CleanedYield, "reason" | "counts" | "before" | "after" | "delay" | "machineFactors" | "crossCheck">): Readonly<
  Record<string, unknown>
> {
  const {appliedS, estimate} = delay;
  return {
    records: reason.length,
    keptPct: short((100 * counts.kept) / reason.length),
    counts,
    before: inShort(before),
    after: inShort(after),
    delay: {
      appliedS,
      ...(estimate && {
        ...(estimate.delayS !== undefined && {foundS: estimate.delayS, gain: short(estimate.gain)}),
        ...(estimate.refused !== undefined && {refused: estimate.refused}),
        passPairs: estimate.passPairs,
        curve: estimate.curve.map(({delayS, difference}) => [short(delayS), short(difference)]),
      }),
    },
    ...(machineFactors.length > 0 && {machineFactors}),
    ...(crossCheck && {crossCheck}),
  };
}

function inShort({count, mean, cvPct, moranI, median, min, max}: YieldStatistics) {
  const rounded = {mean, cvPct, moranI, median, min, max};
  return {count, ...Object.fromEntries(Object.entries(rounded).map(([name, value]) => [name, short(value)]))};
}

/** Five significant figures; null where there is no number, as JSON has it. */
function short(value: number | undefined): number | null {
  return value !== undefined && Number.isFinite(value) ? Number(value.toPrecision(5)) : null;
}
