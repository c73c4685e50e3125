import {type Field, makeField} from "../../src/geo/field.ts";
import {frameAt, toLonLat, toPlane} from "../../src/geo/frame.ts";
import type {LonLat} from "../../src/geo/shapes.ts";
import type {YieldLog} from "../../src/layers/yield-log.ts";
import {seededRandom} from "../../src/stats/random.ts";

/** A harvest that went perfectly, to break in one way at a time. North-south passes from the west, header up in turns. */
export interface Harvest {
  readonly passes?: number;
  readonly lengthM?: number;
  readonly swathM?: number;
  readonly speedMPerS?: number;
  readonly intervalS?: number;
  /** Seconds between a record's position and its grain. */
  readonly delayS?: number;
  /** Yield at standard moisture, t/ha; x and y run from 0 at the south-west corner. */
  readonly yieldAt?: (x: number, y: number) => number;
  readonly moisturePct?: number;
  /** Standard deviation of a flow reading, as a share of it. */
  readonly noise?: number;
}

export interface MadeLog {
  readonly field: Field;
  readonly log: Required<
    Pick<YieldLog, "timeS" | "flowKgPerS" | "distanceM" | "intervalS" | "swathM" | "moisturePct" | "headerDown">
  > &
    YieldLog;
  /** Yield at each record's position, t/ha; NaN with the header up. */
  readonly truth: Float64Array;
  /** From the corner the harvest started at, metres, for finding a record. */
  readonly fromWest: Float64Array;
  readonly fromSouth: Float64Array;
}

const TURN_S = 20;
const STANDARD_PCT = 15.5;

export function makeLog(harvest: Harvest = {}): MadeLog {
  const {passes = 12, lengthM = 300, swathM = 9, speedMPerS = 2, intervalS = 1, delayS = 0} = harvest;
  const {yieldAt = () => 10, moisturePct = STANDARD_PCT, noise = 0} = harvest;
  const random = seededRandom(1, "tests/make-log");
  const rows: {x: number; y: number; t: number; down: boolean}[] = [];
  const step = speedMPerS * intervalS;
  const perPass = Math.floor(lengthM / step);
  let t = 0;
  for (let pass = 0; pass < passes; pass++) {
    const x = (pass + 0.5) * swathM;
    const up = pass % 2 === 0;
    for (let i = 1; i <= perPass; i++) {
      t += intervalS;
      rows.push({x, y: up ? i * step : lengthM - i * step, t, down: true});
    }
    if (pass === passes - 1) break;
    for (let s = intervalS; s < TURN_S; s += intervalS) {
      t += intervalS;
      const angle = (Math.PI * s) / TURN_S;
      const out = (swathM / 2) * Math.sin(angle);
      const y = up ? lengthM + out : -out;
      rows.push({x: x + (swathM / 2) * (1 - Math.cos(angle)), y, t, down: false});
    }
    t += intervalS;
  }

  const wet = (100 - STANDARD_PCT) / (100 - moisturePct);
  const cutAt = (row: (typeof rows)[number] | undefined): number =>
    row?.down ? ((yieldAt(row.x, row.y) * swathM * speedMPerS) / 10) * wet : 0;
  const late = Math.round(delayS / intervalS);
  const column = (value: (row: (typeof rows)[number], i: number) => number): Float64Array =>
    Float64Array.from(rows, value);

  const width = passes * swathM;
  const corner = frameAt(-93.6, 42.02);
  const ring = (
    [
      [0, 0],
      [width, 0],
      [width, lengthM],
      [0, lengthM],
      [0, 0],
    ] as const
  ).map(([x, y]) => toLonLat(corner, {x, y}));
  const {field} = makeField("made", "Made field", [[ring as LonLat[]]]);
  const inFrame = rows.map((row) => toPlane(field.frame, toLonLat(corner, row)));
  const log = {
    id: "made",
    crop: "corn",
    season: 2024,
    x: Float64Array.from(inFrame, (p) => p.x),
    y: Float64Array.from(inFrame, (p) => p.y),
    timeS: column((row) => row.t),
    // Grain follows the clock: turns take their time, so a late reading is so many records on.
    flowKgPerS: column((_, i) => cutAt(rows[i - late]) * (1 + noise * random.normal())),
    distanceM: column(() => step),
    intervalS: column(() => intervalS),
    swathM: column(() => swathM),
    moisturePct: column(() => moisturePct),
    headerDown: column((row) => (row.down ? 1 : 0)),
    bushelPounds: 56,
    standardMoisturePct: STANDARD_PCT,
  };
  return {
    field,
    log,
    truth: column((row) => (row.down ? yieldAt(row.x, row.y) : Number.NaN)),
    fromWest: column((row) => row.x),
    fromSouth: column((row) => row.y),
  };
}

/** Index of the record nearest to a place, both from the harvest's corner. */
export function recordAt({fromWest, fromSouth}: MadeLog, x: number, y: number): number {
  let best = 0;
  let least = Infinity;
  for (let i = 0; i < fromWest.length; i++) {
    const d = Math.hypot((fromWest[i] as number) - x, (fromSouth[i] as number) - y);
    if (d < least) {
      least = d;
      best = i;
    }
  }
  return best;
}

/** A copy of a log with one column changed at some records. */
export function changed<K extends "flowKgPerS" | "distanceM" | "moisturePct" | "x" | "y" | "swathM" | "headerDown">(
  log: MadeLog["log"],
  column: K,
  records: readonly number[],
  value: (was: number) => number,
): MadeLog["log"] {
  const copy = log[column].slice();
  for (const i of records) copy[i] = value(copy[i] as number);
  return {...log, [column]: copy};
}
