import {FieldError} from "../errors.ts";
import {typicalOf} from "../stats/robust.ts";
import type {ResolvedCleanOptions} from "./clean-options.ts";
import {alongTrack, GAP_S, type Track} from "./track.ts";
import type {YieldLog} from "./yield-log.ts";

/** Grain arriving at the sensor and ground passing under the header, along the track. */
export interface Harvest {
  readonly from: "flow" | "given";
  /** Grain at standard moisture, kg/s; for given yields without an area, kg/m². */
  readonly grainKgPerS: Float64Array;
  /** Ground passed over at the recorded width, m²/s; 1 where the log has no area. */
  readonly areaM2PerS: Float64Array;
  /** Recorded header width, metres; NaN where unknown. */
  readonly swathM: Float64Array;
  readonly moisturesReplaced: number;
}

/**
 * What each record measured, brought to standard moisture: grain × (100 − M) / (100 − M standard), because drying
 * loses water only.
 *
 * @throws {FieldError} `yield/nothing-measured`, `yield/no-swath`.
 */
export function harvestOf(log: YieldLog, track: Track, options: ResolvedCleanOptions): Harvest {
  const take = (column: Float64Array | undefined): Float64Array | undefined =>
    column && alongTrack(column, track.record);
  const swathM = take(log.swathM) ?? new Float64Array(track.x.length).fill(options.swathM ?? Number.NaN);
  const hasSwath = swathM.some((width) => width > 0);
  const mass = take(log.massKg)?.map((kg, k) => kg / (track.intervalS[k] as number));
  const flow = take(log.flowKgPerS) ?? mass;
  const given = take(log.givenYieldTPerHa);
  const from = sourceOf(options.yieldFrom, flow !== undefined, given !== undefined, hasSwath);

  const hasArea = hasSwath && track.ordered;
  const areaM2PerS = hasArea
    ? swathM.map((width, k) => width * (track.speedMPerS[k] as number))
    : new Float64Array(swathM.length).fill(1);
  if (from === "given") {
    const grainKgPerS = areaM2PerS.map((area, k) => ((given?.[k] as number) / 10) * area);
    return {from, grainKgPerS, areaM2PerS, swathM, moisturesReplaced: 0};
  }
  const grainKgPerS = (flow as Float64Array).slice();
  if (options.scaleTicketKg !== undefined) {
    let logged = 0;
    grainKgPerS.forEach((kg, k) => {
      if (kg > 0) logged += kg * (track.intervalS[k] as number);
    });
    const scale = options.scaleTicketKg / logged;
    for (let k = 0; k < grainKgPerS.length; k++) grainKgPerS[k] = (grainKgPerS[k] as number) * scale;
  }
  const moisture = take(log.moisturePct)?.slice();
  const moisturesReplaced = moisture ? mendMoisture(moisture, track, options.moistureRangePct) : 0;
  moisture?.forEach((pct, k) => {
    if (Number.isNaN(pct)) return;
    grainKgPerS[k] = ((grainKgPerS[k] as number) * (100 - pct)) / (100 - log.standardMoisturePct);
  });
  return {from, grainKgPerS, areaM2PerS, swathM, moisturesReplaced};
}

/**
 * Grain cut at each record: what reached the sensor `delayS` later, between two records by straight line.
 *
 * NaN where the log has no grain for that moment (its end, or a gap longer than 10 s and three records).
 */
export function grainAfter(track: Track, grain: Float64Array, delayS: number): Float64Array {
  const {timeS, machine} = track;
  const count = grain.length;
  const longest = Math.max(GAP_S, 3 * track.typical.intervalS);
  const shifted = new Float64Array(count).fill(Number.NaN);
  let j = 0;
  for (let k = 0; k < count; k++) {
    const moment = (timeS[k] as number) + delayS;
    if (k > 0 && machine[k] !== machine[k - 1]) j = k;
    while (j > 0 && machine[j - 1] === machine[k] && (timeS[j] as number) > moment) j--;
    while (j + 1 < count && machine[j + 1] === machine[k] && (timeS[j + 1] as number) <= moment) j++;
    const before = timeS[j] as number;
    if (before === moment) {
      shifted[k] = grain[j] as number;
      continue;
    }
    if (before > moment || j + 1 >= count || machine[j + 1] !== machine[k]) continue;
    const gap = (timeS[j + 1] as number) - before;
    if (gap > longest) continue;
    const along = (moment - before) / gap;
    shifted[k] = (grain[j] as number) * (1 - along) + (grain[j + 1] as number) * along;
  }
  return shifted;
}

/** Row of the log that stands nearest to `delayS` after each place along the track, −1 where none does (see `grainAfter`). */
export function recordsAfter(track: Track, delayS: number): Int32Array {
  const {timeS, machine, record, ordered, typical} = track;
  if (delayS === 0 || !ordered) return record.slice();
  const after = new Int32Array(record.length).fill(-1);
  const longest = Math.max(GAP_S, 3 * typical.intervalS);
  let j = 0;
  for (let k = 0; k < after.length; k++) {
    const moment = (timeS[k] as number) + delayS;
    if (k > 0 && machine[k] !== machine[k - 1]) j = k;
    while (j > 0 && machine[j - 1] === machine[k] && (timeS[j] as number) > moment) j--;
    while (j + 1 < after.length && machine[j + 1] === machine[k] && (timeS[j + 1] as number) <= moment) j++;
    // The moment lies between j and the one after it, or before or after all of the machine's records.
    const next = j + 1 < after.length && machine[j + 1] === machine[k] ? j + 1 : j;
    const early = Math.abs(moment - (timeS[j] as number));
    const late = Math.abs((timeS[next] as number) - moment);
    if (Math.min(early, late) <= longest / 2) after[k] = record[late < early ? next : j] as number;
  }
  return after;
}

function sourceOf(
  wanted: ResolvedCleanOptions["yieldFrom"],
  hasFlow: boolean,
  hasGiven: boolean,
  hasSwath: boolean,
): "flow" | "given" {
  if (wanted !== "given" && hasFlow && hasSwath) return "flow";
  if (wanted !== "flow" && hasGiven) return "given";
  if (hasFlow && wanted !== "given") {
    throw new FieldError(
      "yield/no-swath",
      "The yield log has grain flow but no header width, so no yield can be worked out.",
      {
        hint: "Name the column that holds the width, or give the header width as a setting.",
      },
    );
  }
  throw new FieldError("yield/nothing-measured", "The yield log has neither grain flow nor a yield to use.", {
    hint: "Name the column that holds flow, mass or yield.",
  });
}

/** Moisture out of range is replaced by the median of its pass, of the log where the pass has none. */
function mendMoisture(moisture: Float64Array, track: Track, [driest, wettest]: readonly [number, number]): number {
  const sane = moisture.map((pct) => (pct >= driest && pct <= wettest ? pct : Number.NaN));
  const ofLog = typicalOf(sane);
  const ofPass = new Map<number, number>();
  let replaced = 0;
  for (let k = 0; k < moisture.length; k++) {
    if (!Number.isNaN(sane[k] as number)) continue;
    const number = track.pass[k] as number;
    const {from, to} = track.passes[number] ?? {from: 0, to: 0};
    const local = ofPass.get(number) ?? typicalOf(sane.subarray(from, to));
    ofPass.set(number, local);
    moisture[k] = Number.isNaN(local) ? ofLog : local;
    replaced++;
  }
  return replaced;
}
