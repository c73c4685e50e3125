import type {Issue} from "../errors.ts";
import {finite, median, quantiles} from "../stats/robust.ts";
import {
  BUSHEL,
  KG_PER_HA_PER_LB_PER_ACRE,
  KILOGRAMS_PER_POUND,
  METRES_PER_FOOT,
  METRES_PER_INCH,
  POUNDS_PER_SHORT_TON,
} from "../units/factors.ts";
import {formatNumber} from "../units/format.ts";
import type {Harvest} from "./record-yield.ts";
import {alongTrack, type Track} from "./track.ts";
import type {YieldLog} from "./yield-log.ts";

/** The yield column of a log set against yield worked out from its flow. */
export interface CrossCheck {
  /** The given column divided by ours: the median over stretches of track. */
  readonly factor: number;
  /** False when the factor changes from stretch to stretch: then no one setting explains it. */
  readonly constant: boolean;
  /** What a constant factor most likely means, as the end of a sentence. */
  readonly cause?: string;
  readonly stretches: number;
}

/** Records of one stretch of track. The two columns may lag one another: their medians over a stretch do not care. */
const STRETCH = 50;
const LEAST_IN_STRETCH = 15;
const LEAST_STRETCHES = 6;
/** Differences below this are rounding. */
const LEAST_DIFFERENCE = 0.015;
/** A factor counts as constant when its middle half lies within this share of it. */
const CONSTANT = 0.1;
/** A known factor is recognised within this share: pounds for kilograms and short tons for tonnes lie 1.7 % apart. */
const RECOGNISED = 0.006;

/**
 * Compares yield worked out from flow, distance, width and moisture with the column the log gave. A constant factor
 * between them is a wrong unit or setting, and says which.
 *
 * Yields at the moisture of harvest are told from other factors record by record: moisture varies, a unit does not.
 *
 * @returns Undefined where there is nothing to compare, or less than six stretches of it.
 */
export function crossCheck(log: YieldLog, track: Track, harvest: Harvest): CrossCheck | undefined {
  if (!log.givenYieldTPerHa || harvest.from !== "flow") return undefined;
  const given = alongTrack(log.givenYieldTPerHa, track.record);
  const ours = new Float64Array(given.length);
  for (let k = 0; k < ours.length; k++) {
    ours[k] = (10 * (harvest.grainKgPerS[k] as number)) / (harvest.areaM2PerS[k] as number);
  }
  const ratios = stretchRatios(track, given, ours);
  if (ratios.length < LEAST_STRETCHES) return undefined;
  const {middle: factor, spread} = spreadOf(ratios);
  const moisture = log.moisturePct && alongTrack(log.moisturePct, track.record);
  const wet = moisture && ours.map((t, k) => (t * (100 - log.standardMoisturePct)) / (100 - (moisture[k] as number)));
  const wetRatios = wet ? spreadOf(stretchRatios(track, given, wet)) : undefined;
  const cause =
    Math.abs(factor - 1) < LEAST_DIFFERENCE ? undefined : likelyCause(log, {middle: factor, spread}, wetRatios);
  const constant = spread < CONSTANT || cause !== undefined;
  return {factor, constant, stretches: ratios.length, ...(cause && {cause})};
}

/** What to tell of a comparison; nothing where the columns agree. */
export function crossCheckIssue(log: YieldLog, {factor, constant, cause}: CrossCheck): Issue | undefined {
  const off = Math.abs(factor - 1);
  if (off < LEAST_DIFFERENCE) return undefined;
  const swathM = log.swathM && median(log.swathM);
  const width = constant && !cause && swathM && factor > 0.3 && factor < 3 ? swathM / factor : undefined;
  return {
    code: "yield/given-differs",
    severity: off < 0.05 ? "note" : "warning",
    message:
      `The yield column of ${log.id} is ${formatNumber(factor, factor < 0.1 ? 6 : 4)} times ours, worked out from flow` +
      (constant ? "" : ", and not by a constant factor") +
      (cause ? `: ${cause}.` : "."),
    hint:
      "Check the units of flow, distance and width, the bushel weight and the standard moisture; the map uses the yield from flow." +
      (width
        ? ` A header of ${formatNumber(width, 2)} m (${formatNumber(width / METRES_PER_FOOT, 1)} ft) would explain it too.`
        : ""),
  };
}

/** Ratio of the median given yield to the median of ours, stretch by stretch. */
function stretchRatios(track: Track, given: Float64Array, ours: Float64Array): Float64Array {
  const ratios: number[] = [];
  const theirs = new Float64Array(STRETCH);
  const own = new Float64Array(STRETCH);
  const close = (count: number): void => {
    if (count < LEAST_IN_STRETCH) return;
    ratios.push(median(theirs.subarray(0, count)) / median(own.subarray(0, count)));
  };
  let count = 0;
  for (let k = 0; k < given.length; k++) {
    const follows = k === 0 || track.pass[k] === track.pass[k - 1];
    if (!follows || count === STRETCH) {
      close(count);
      count = 0;
    }
    if (track.ordered && track.pass[k] === -1) continue;
    if (!((given[k] as number) > 0 && (ours[k] as number) > 0 && (ours[k] as number) < Infinity)) continue;
    theirs[count] = given[k] as number;
    own[count++] = ours[k] as number;
  }
  close(count);
  return finite(ratios);
}

interface Spread {
  readonly middle: number;
  /** Interquartile range as a share of the median. */
  readonly spread: number;
}

function spreadOf(ratios: Float64Array): Spread {
  const [low, middle, high] = quantiles(ratios, [0.25, 0.5, 0.75]) as [number, number, number];
  return {middle, spread: (high - low) / middle};
}

/** The simplest explanation first: harvest moisture alone, one wrong setting, then both. */
function likelyCause(log: YieldLog, ours: Spread, wet: Spread | undefined): string | undefined {
  const near = (value: number, factor: number): boolean => Math.abs(value / factor - 1) < RECOGNISED;
  const known = knownFactors(log);
  const steady = ours.spread < CONSTANT;
  const moisture = log.moisturePct ? formatNumber(median(log.moisturePct), 1) : "";
  const atHarvest = `yield at the moisture it was cut (median ${moisture} %), not at ${log.standardMoisturePct} %`;
  // Where moisture is even, both bases have a constant factor and the nearer known one decides.
  const wetFits = wet && wet.spread < CONSTANT && wet.spread <= 1.2 * ours.spread + 0.002;
  if (wetFits && near(wet.middle, 1)) return `it looks like ${atHarvest}`;
  const alone = steady && known.find(({factor}) => near(ours.middle, factor));
  if (alone) return alone.means;
  const both = wetFits && known.find(({factor}) => near(wet.middle, factor));
  return both ? `${both.means}, and it looks like ${atHarvest}` : undefined;
}

/** Factors of the given column over ours that a wrong setting makes. */
function knownFactors(log: YieldLog): {readonly factor: number; readonly means: string}[] {
  const used = log.bushelPounds;
  const bushels = new Map<number, string>();
  for (const [crop, {pounds}] of Object.entries(BUSHEL)) {
    if (pounds !== used) bushels.set(pounds, [bushels.get(pounds), crop].filter(Boolean).join(", "));
  }
  const tPerHaPerBushel = (used * KG_PER_HA_PER_LB_PER_ACRE) / 1000;
  const tPerHaPerShortTon = (POUNDS_PER_SHORT_TON * KG_PER_HA_PER_LB_PER_ACRE) / 1000;
  const inFeet = METRES_PER_FOOT;
  return [
    ...[...bushels].map(([pounds, crops]) => ({
      factor: used / pounds,
      means: `read at ${used} lb/bu, it fits ${pounds} lb/bu (${crops})`,
    })),
    {factor: (100 - log.standardMoisturePct) / 100, means: "it looks like dry matter, without any water"},
    ...swapped(1000, "the column is in kg/ha but was read as t/ha", "the column is in t/ha but was read as kg/ha"),
    ...swapped(
      KG_PER_HA_PER_LB_PER_ACRE,
      "the column is in kg/ha but was read as lb/ac",
      "the column is in lb/ac but was read as kg/ha",
    ),
    ...swapped(
      tPerHaPerShortTon,
      "the column is in t/ha but was read as short tons per acre",
      "the column is in short tons per acre but was read as t/ha",
    ),
    ...swapped(
      tPerHaPerBushel,
      "the column is in t/ha but was read as bu/ac",
      "the column is in bu/ac but was read as t/ha",
    ),
    ...swapped(used, "the column is in lb/ac but was read as bu/ac", "the column is in bu/ac but was read as lb/ac"),
    ...swapped(
      1 / KILOGRAMS_PER_POUND,
      "the flow is in kilograms but was read as pounds",
      "the flow is in pounds but was read as kilograms",
    ),
    ...lengths(1 / inFeet, "feet", "metres"),
    ...lengths(12, "inches", "feet"),
    ...lengths(1 / METRES_PER_INCH, "inches", "metres"),
    ...lengths(METRES_PER_INCH * 100, "centimetres", "inches"),
    {
      factor: 1 / inFeet ** 2,
      means: "both the width and the distance are in feet but were read as metres",
    },
    {factor: inFeet ** 2, means: "both the width and the distance are in metres but were read as feet"},
  ];
}

function swapped(factor: number, over: string, under: string): {factor: number; means: string}[] {
  return [
    {factor, means: over},
    {factor: 1 / factor, means: under},
  ];
}

/** One length too long by the factor makes the area too large and our yield too small by it. */
function lengths(factor: number, small: string, large: string): {factor: number; means: string}[] {
  return swapped(
    factor,
    `the width or the distance is in ${small} but was read as ${large}`,
    `the width or the distance is in ${large} but was read as ${small}`,
  );
}
