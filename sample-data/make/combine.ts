import {boxOf, distanceM} from "../../src/geo/measure.ts";
import type {XY} from "../../src/geo/shapes.ts";
import {cellAt, type Grid, gridOver} from "../../src/grid/grid.ts";
import {maskOf} from "../../src/grid/rasterize.ts";
import {type Random, seededRandom} from "../../src/stats/random.ts";
import {BUSHEL, KILOGRAMS_PER_POUND, METRES_PER_FOOT, SQUARE_METRES_PER_ACRE} from "../../src/units/factors.ts";
import {expectedMoistureOf, expectedYieldOf} from "./crop.ts";
import type {SampleField, Season} from "./farm.ts";
import {lengthOf, type Pass, planPasses} from "./passes.ts";

/** One line of a yield log before anything went wrong with it; US units as the machine shows them. */
export interface LogRecord extends XY {
  readonly timeS: number;
  readonly flowLbPerS: number;
  readonly distanceFt: number;
  readonly intervalS: number;
  readonly swathFt: number;
  readonly moisturePct: number;
  readonly speedMph: number;
  readonly pass: number;
  readonly headerDown: boolean;
}

/** Seconds from the header to the sensor, and the time constant of the mixing on the way. */
export const TRANSPORT_S = 12;
export const MIXING_S = 4;

const TURN_SPEED = 1.4;
const ACCELERATION = 0.45;
const STOP_EVERY_S = 2400;
const ROW_M = 0.762;
const CUT_CELL_M = 0.25;
const MPH_PER_M_PER_S = 3600 / 1609.344;
const DAY_S = 86_400;
const NOON_S = 43_200;
const WORKING_DAY_S = 27_000;

/**
 * Drives one harvest second by second and writes down what the machine would.
 *
 * Every row of the header cuts what still stands under it, so partial swaths, point rows and headland ends come out
 * of the geometry; the grain then takes 12 s to the sensor and is mixed on the way (first order, 4 s).
 */
export function harvest(field: SampleField, season: Season): LogRecord[] {
  const random = seededRandom(field.seed, `combine/${season.year}`);
  const crop = standingCrop(field, season);
  const machine = machineOf(season, random);
  const records: LogRecord[] = [];
  let clock = NOON_S + 900;
  let dayStart = clock;
  let logged = {distanceM: 0, seconds: 0, flow: 0};
  let speed = 0;

  /** One second of driving: from where to where, on which pass, cutting or not. */
  const second = (from: XY, to: XY, pass: number, down: boolean): void => {
    const travelled = distanceM(from, to);
    const cut = down ? crop.cut(from, to, pass) : {wetKg: 0, moisturePct: Number.NaN};
    const sensed = machine.sense(cut);
    clock++;
    logged = {
      distanceM: logged.distanceM + travelled,
      seconds: logged.seconds + 1,
      flow: logged.flow + sensed.flowKgPerS,
    };
    if (logged.seconds < field.logEveryS) return;
    const fix = machine.fix(to);
    records.push({
      ...fix,
      timeS: clock,
      flowLbPerS: Math.max(0, ((logged.flow / logged.seconds) * (1 + 0.025 * random.normal())) / KILOGRAMS_PER_POUND),
      distanceFt: Math.max(0, logged.distanceM + 0.02 * random.normal()) / METRES_PER_FOOT,
      intervalS: logged.seconds,
      swathFt: season.swathFt,
      moisturePct: sensed.moisturePct,
      speedMph: Math.max(0, travelled + 0.03 * random.normal()) * MPH_PER_M_PER_S,
      pass,
      headerDown: down,
    });
    logged = {distanceM: 0, seconds: 0, flow: 0};
  };

  planPasses(field, season).forEach((path, index, all) => {
    const pass = index + 1;
    const length = lengthOf(path);
    let pace = 0;
    let waiting = 0;
    let along = 0;
    speed = Math.min(speed, 1);
    while (along < length) {
      // The driver feels the crop and the ground: the pace wanders, eases in and out of the pass, and now and then stops.
      pace = 0.96 * pace + 0.28 * random.normal();
      if (waiting === 0 && random.next() < 1 / STOP_EVERY_S) waiting = 6 + random.integer(55);
      if (waiting > 0) waiting--;
      const ending = length - along < 5 ? 0.65 : 1;
      const wanted = waiting > 0 ? 0 : season.speedMPerS * ending * (1 + 0.06 * Math.max(-3, Math.min(2, pace)));
      speed += Math.max(-2.2 * ACCELERATION, Math.min(ACCELERATION, wanted - speed));
      const next = Math.min(length, along + Math.max(0, speed));
      second(pointAlong(path, along), pointAlong(path, next), pass, true);
      along = next;
    }
    const after = all[index + 1];
    if (!after) {
      // The machine stands at the edge until it has run empty.
      const end = path.at(-1) as XY;
      for (let i = 0; i < 30; i++) second(end, end, pass, false);
      return;
    }
    const turn = turnBetween(path, after);
    const turnLength = lengthOf(turn);
    for (let s = 0; s < turnLength; s += TURN_SPEED) {
      second(pointAlong(turn, s), pointAlong(turn, Math.min(turnLength, s + TURN_SPEED)), pass, false);
    }
    if (clock - dayStart > WORKING_DAY_S) {
      // Stopped for the night; the machine starts empty the next noon.
      clock = (Math.floor(clock / DAY_S) + 1) * DAY_S + NOON_S;
      dayStart = clock;
      machine.empty();
    }
  });
  return records;
}

/** What stands, and what a header takes from it between two points. */
function standingCrop(field: SampleField, season: Season) {
  const yieldAt = expectedYieldOf(field, season);
  const moistureAt = expectedMoistureOf(field, season);
  const {pounds, moisturePct: standard} = BUSHEL[season.crop];
  const grid: Grid = gridOver(field.frame, boxOf(field.outline), CUT_CELL_M, 1, 40_000_000);
  const inField = maskOf(grid, field.outline);
  /** Which pass cut a cell; 0 while it stands. */
  const cutBy = new Uint16Array(inField.length);
  const rows = Math.round((season.swathFt * METRES_PER_FOOT) / ROW_M);
  const width = (season.swathFt * METRES_PER_FOOT) / rows;

  const cut = (from: XY, to: XY, pass: number): {wetKg: number; moisturePct: number} => {
    const step = distanceM(from, to);
    const middle = {x: (from.x + to.x) / 2, y: (from.y + to.y) / 2};
    const moisturePct = moistureAt(middle.x, middle.y);
    if (step === 0) return {wetKg: 0, moisturePct};
    const ux = (to.x - from.x) / step;
    const uy = (to.y - from.y) / step;
    const pieces = Math.ceil(step / CUT_CELL_M);
    let standing = 0;
    for (let piece = 0; piece < pieces; piece++) {
      const along = (step * (piece + 0.5)) / pieces;
      for (let row = 0; row < rows; row++) {
        const side = (row + 0.5 - rows / 2) * width;
        const at = (offset: number): number =>
          cellAt(grid, from.x + ux * along - uy * (side + offset), from.y + uy * along + ux * (side + offset));
        const cell = at(0);
        if (cell >= 0 && inField[cell] === 1 && (cutBy[cell] === 0 || cutBy[cell] === pass)) standing++;
        for (let part = -1.5; part <= 1.5; part++) {
          const mark = at(part * 0.25 * width);
          if (mark >= 0 && cutBy[mark] === 0) cutBy[mark] = pass;
        }
      }
    }
    const areaM2 = standing * width * (step / pieces);
    const dryKgPerM2 = (yieldAt(middle.x, middle.y) * pounds * KILOGRAMS_PER_POUND) / SQUARE_METRES_PER_ACRE;
    return {wetKg: (areaM2 * dryKgPerM2 * (100 - standard)) / (100 - moisturePct), moisturePct};
  };
  return {cut};
}

/** The grain's way to the sensors and the receiver's idea of where it is. */
function machineOf(season: Season, random: Random) {
  const keepFlow = Math.exp(-1 / MIXING_S);
  const keepMoisture = Math.exp(-1 / 9);
  let way: {wetKg: number; moisturePct: number}[] = [];
  let flowKgPerS = 0;
  let moisturePct = season.moisturePct;
  let driftX = 0;
  let driftY = 0;
  return {
    empty: (): void => {
      way = [];
      flowKgPerS = 0;
    },
    sense: (cut: {wetKg: number; moisturePct: number}) => {
      way.push(cut);
      const arriving = way.length > TRANSPORT_S ? way.shift() : undefined;
      flowKgPerS = keepFlow * flowKgPerS + (1 - keepFlow) * (arriving?.wetKg ?? 0);
      // An empty sensor goes on showing what it saw last.
      if (arriving && arriving.wetKg > 0) {
        moisturePct = keepMoisture * moisturePct + (1 - keepMoisture) * (arriving.moisturePct + 0.35 * random.normal());
      }
      return {flowKgPerS: flowKgPerS < 0.02 ? 0 : flowKgPerS, moisturePct};
    },
    fix: (p: XY): XY => {
      driftX = 0.985 * driftX + 0.03 * random.normal();
      driftY = 0.985 * driftY + 0.03 * random.normal();
      return {x: p.x + driftX + 0.02 * random.normal(), y: p.y + driftY + 0.02 * random.normal()};
    },
  };
}

function pointAlong(path: readonly XY[], along: number): XY {
  let left = along;
  for (let i = 0; i + 1 < path.length; i++) {
    const a = path[i] as XY;
    const b = path[i + 1] as XY;
    const length = distanceM(a, b);
    if (left <= length && length > 0)
      return {x: a.x + ((b.x - a.x) * left) / length, y: a.y + ((b.y - a.y) * left) / length};
    left -= length;
  }
  return path.at(-1) as XY;
}

/** A smooth way from the end of one pass into the start of the next. */
function turnBetween(pass: Pass, next: Pass): XY[] {
  const end = pass.at(-1) as XY;
  const start = next[0] as XY;
  const reach = 12;
  const out = ahead(pass.at(-2) as XY, end, reach);
  const back = ahead(next[1] as XY, start, reach);
  return Array.from({length: 25}, (_, i) => {
    const t = i / 24;
    const u = 1 - t;
    const blend = (a: number, b: number, c: number, d: number): number =>
      u ** 3 * a + 3 * u * u * t * b + 3 * u * t * t * c + t ** 3 * d;
    return {x: blend(end.x, out.x, back.x, start.x), y: blend(end.y, out.y, back.y, start.y)};
  });
}

/** The point `reach` metres beyond `b`, coming from `a`. */
function ahead(a: XY, b: XY, reach: number): XY {
  const length = distanceM(a, b);
  return {x: b.x + ((b.x - a.x) * reach) / length, y: b.y + ((b.y - a.y) * reach) / length};
}
