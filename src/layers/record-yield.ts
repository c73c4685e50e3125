import {FieldError, type Issue} from "../errors.ts";
import {median, quantiles, typicalOf} from "../stats/robust.ts";
import {BUSHEL} from "../units/factors.ts";
import {formatNumber} from "../units/format.ts";
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

/** Compares yield worked out from flow with the column the log gave: a constant factor is a wrong unit or setting. */
export function crossCheck(log: YieldLog, track: Track, harvest: Harvest): Issue | undefined {
  const given = log.givenYieldTPerHa;
  if (!given || harvest.from !== "flow") return undefined;
  const ratios: number[] = [];
  for (let k = 0; k < track.record.length; k++) {
    const theirs = given[track.record[k] as number] as number;
    const ours = (10 * (harvest.grainKgPerS[k] as number)) / (harvest.areaM2PerS[k] as number);
    if (theirs > 0.1 && ours > 0.1 && track.pass[k] !== -1) ratios.push(ours / theirs);
  }
  if (ratios.length < 30) return undefined;
  const [low, factor, high] = quantiles(ratios, [0.25, 0.5, 0.75]) as [number, number, number];
  if (Math.abs(factor - 1) < 0.015) return undefined;
  const constant = high - low < 0.1 * factor;
  const cause = constant ? likelyCause(factor, log) : undefined;
  return {
    code: "yield/given-differs",
    severity: Math.abs(factor - 1) < 0.05 ? "note" : "warning",
    message:
      `Yield worked out from flow is ${formatNumber(factor, 3)} times the yield column of ${log.id}` +
      (constant ? "" : ", and not by a constant factor") +
      (cause ? `: ${cause}.` : "."),
    hint: "Check the units of flow, distance and width, the bushel weight and the standard moisture; the map uses the yield from flow.",
  };
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

/** What a constant factor between our yield and theirs most likely means. */
function likelyCause(factor: number, log: YieldLog): string | undefined {
  const near = (value: number, tolerance = 0.01): boolean => Math.abs(factor / value - 1) < tolerance;
  const moisture = log.moisturePct && median(log.moisturePct);
  if (moisture && near((100 - moisture) / (100 - log.standardMoisturePct), 0.004)) {
    return `the column looks like yield at the moisture it was cut (median ${formatNumber(moisture, 1)} %)`;
  }
  for (const [crop, {pounds}] of Object.entries(BUSHEL)) {
    if (pounds !== log.bushelPounds && near(pounds / log.bushelPounds, 0.004)) {
      return `as if its bushel weighed ${log.bushelPounds} lb where ${crop} is sold at ${pounds} lb`;
    }
  }
  const units: readonly (readonly [number, string])[] = [
    [0.3048, "a length in feet read as metres, or the other way round"],
    [12, "a length in inches read as feet, or the other way round"],
    [39.37, "a length in inches read as metres, or the other way round"],
    [0.453_592_37, "a mass in pounds read as kilograms, or the other way round"],
    [0.0254 * 100, "a length in inches read as centimetres, or the other way round"],
  ];
  return units.find(([value]) => near(value) || near(1 / value))?.[1];
}
