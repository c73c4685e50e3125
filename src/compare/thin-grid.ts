import {FieldError} from "../errors.ts";
import {type NeighbourLikeness, neighbourLikeness} from "../stats/neighbour-likeness.ts";
import {type Found, indexPoints, nearest, roomFor} from "../stats/point-index.ts";
import {predictionEfficiencyPct} from "../stats/prediction-error.ts";
import {type Random, seededRandom} from "../stats/random.ts";

export interface ThinInput {
  /** As in "soil-test P", and its unit. */
  readonly what: string;
  readonly unit: string;
  /** Places of the samples, metres. */
  readonly x: Float64Array;
  readonly y: Float64Array;
  /** Results; NaN is left out. */
  readonly values: Float64Array;
  /** Ground for one sample at each step, square metres, rising, as 2.5, 5 and 10 acres. */
  readonly areasM2: readonly number[];
  /** Lattices tried for each area, each shifted and turned by chance. Default 40. */
  readonly lattices?: number;
  readonly seed: number;
}

/** How well samples that were left out are told by those kept. */
export interface ThinStep {
  readonly areaM2: number;
  /** Samples kept, mean over the lattices. */
  readonly kept: number;
  /** Left-out samples predicted, all lattices together. */
  readonly checks: number;
  /** Error of the nearest kept sample: what a map of cells gives. */
  readonly nearestRmse: number;
  /** Error of inverse-distance weights over the eight nearest: what a map drawn through the points gives. */
  readonly mappedRmse: number;
  /** Error of the mean of the kept samples: one rate for the field. */
  readonly meanRmse: number;
  /** Percent better than that mean; at or below zero the samples told nothing of their surroundings. */
  readonly nearestEfficiencyPct: number;
  readonly mappedEfficiencyPct: number;
}

/** How much samples tell of their surroundings. */
export type Structure = "none" | "almost none" | "some" | "clear";

export interface ThinResult {
  readonly what: string;
  readonly unit: string;
  readonly count: number;
  readonly structure: Structure;
  /** All samples but one, one after the other. */
  readonly leaveOneOut: ThinStep;
  readonly steps: readonly ThinStep[];
  /** On the logarithm where values are skewed and positive. */
  readonly likeness: NeighbourLikeness & {readonly onLogs: boolean};
  readonly notes: readonly string[];
}

/** Best power of inverse distances for soil tests on grids (Mueller and others 2001). */
const POWER = 1.5;
const NEIGHBOURS = 8;

/**
 * Thins a dense sampling and asks how well the samples kept tell those left out: what a wider grid would have missed.
 *
 * A square lattice of the wanted cell size is laid over the samples, and in each of its cells the sample nearest the
 * middle is kept. Errors are of single samples, so cores and lab are in them, and they are pooled over many lattices.
 *
 * @throws {FieldError} `compare/too-few-samples` under 8 results.
 */
export function thinGrid(input: ThinInput): ThinResult {
  const {what, unit, areasM2, lattices = 40, seed} = input;
  const known = Array.from(input.values, (_, i) => i).filter((i) => Number.isFinite(input.values[i] as number));
  if (known.length < 8) {
    throw new FieldError("compare/too-few-samples", `${known.length} results are too few to be thinned.`, {
      hint: "Thin a grid of eight samples or more.",
    });
  }
  const points: Points = {
    x: Float64Array.from(known, (i) => input.x[i] as number),
    y: Float64Array.from(known, (i) => input.y[i] as number),
    values: Float64Array.from(known, (i) => input.values[i] as number),
  };
  const onLogs = isSkewed(points.values);
  const likeness = neighbourLikeness(
    points.x,
    points.y,
    onLogs ? points.values.map(Math.log) : points.values,
    seededRandom(seed, "compare/likeness"),
  );
  const alone = leaveOneOut(points);
  return {
    what,
    unit,
    count: known.length,
    structure: structureOf(likeness.p, alone.mappedEfficiencyPct),
    leaveOneOut: alone,
    steps: areasM2.map((areaM2) => thinTo(points, areaM2, lattices, seededRandom(seed, `compare/thin/${areaM2}`))),
    likeness: {...likeness, onLogs},
    notes: [
      "Leaving out one sample asks it of neighbours a full spacing away, while on the map no spot is farther than about 0.7 of a spacing from a sample: the error shown is rather too high for mapping.",
      "Samples are asked of samples: what varies between them, within a cell, is not seen, which flatters every grid.",
      "Cores and lab are in each error, so that even a perfect map would not come to zero.",
    ],
  };
}

/**
 * By the share of the variance that neighbours explain: under 15 % almost none, from 35 % clear; none where shuffled values
 * do as well one time in ten. Marks of our own, as there is no standard.
 */
function structureOf(p: number, efficiencyPct: number): Structure {
  if (!(p <= 0.1)) return "none";
  if (!(efficiencyPct >= 15)) return "almost none";
  return efficiencyPct < 35 ? "some" : "clear";
}

interface Points {
  readonly x: Float64Array;
  readonly y: Float64Array;
  readonly values: Float64Array;
}

function leaveOneOut(points: Points): ThinStep {
  const n = points.values.length;
  const errors = newErrors();
  const index = indexPoints(points.x, points.y);
  const total = points.values.reduce((sum, v) => sum + v, 0);
  for (let i = 0; i < n; i++) {
    const value = points.values[i] as number;
    addErrors(errors, points, index, points.x[i] as number, points.y[i] as number, value, (total - value) / (n - 1), i);
  }
  return stepOf(Number.NaN, n - 1, errors);
}

function thinTo(points: Points, areaM2: number, lattices: number, random: Random): ThinStep {
  const errors = newErrors();
  let kept = 0;
  for (let l = 0; l < lattices; l++) {
    const chosen = choose(points, Math.sqrt(areaM2), random);
    kept += chosen.length / lattices;
    const index = indexPoints(points.x, points.y, chosen);
    const mean = chosen.reduce((sum, i) => sum + (points.values[i] as number), 0) / chosen.length;
    const isKept = new Uint8Array(points.values.length);
    for (const i of chosen) isKept[i] = 1;
    for (let i = 0; i < points.values.length; i++) {
      if (isKept[i]) continue;
      addErrors(
        errors,
        points,
        index,
        points.x[i] as number,
        points.y[i] as number,
        points.values[i] as number,
        mean,
        -1,
      );
    }
  }
  return stepOf(areaM2, kept, errors);
}

/** In each cell of a lattice laid at random, the sample nearest the middle; rising indexes. */
function choose({x, y}: Points, side: number, random: Random): Int32Array {
  const angle = (random.next() * Math.PI) / 2;
  const [cos, sin] = [Math.cos(angle), Math.sin(angle)];
  const [shiftX, shiftY] = [random.next(), random.next()];
  const best = new Map<string, {index: number; distance: number}>();
  for (let i = 0; i < x.length; i++) {
    const u = ((x[i] as number) * cos + (y[i] as number) * sin) / side + shiftX;
    const v = ((y[i] as number) * cos - (x[i] as number) * sin) / side + shiftY;
    const key = `${Math.floor(u)},${Math.floor(v)}`;
    const distance = Math.hypot(u - Math.floor(u) - 0.5, v - Math.floor(v) - 0.5);
    const other = best.get(key);
    if (!other || distance < other.distance) best.set(key, {index: i, distance});
  }
  return Int32Array.from([...best.values()].map(({index}) => index)).sort();
}

interface Errors {
  readonly room: Found;
  checks: number;
  nearest: number;
  mapped: number;
  mean: number;
}

function newErrors(): Errors {
  return {room: roomFor(NEIGHBOURS), checks: 0, nearest: 0, mapped: 0, mean: 0};
}

function addErrors(
  errors: Errors,
  {values}: Points,
  index: ReturnType<typeof indexPoints>,
  x: number,
  y: number,
  found: number,
  mean: number,
  without: number,
): void {
  const {room} = errors;
  const count = nearest(index, x, y, room, Infinity, without);
  if (count === 0) return;
  let weights = 0;
  let sum = 0;
  for (let k = 0; k < count; k++) {
    const weight = Math.max(room.distance2[k] as number, 1e-6) ** (-POWER / 2);
    weights += weight;
    sum += weight * (values[room.index[k] as number] as number);
  }
  errors.checks++;
  errors.nearest += ((values[room.index[0] as number] as number) - found) ** 2;
  errors.mapped += (sum / weights - found) ** 2;
  errors.mean += (mean - found) ** 2;
}

function stepOf(areaM2: number, kept: number, {checks, ...squares}: Errors): ThinStep {
  const rmse = (sum: number): number => (checks > 0 ? Math.sqrt(sum / checks) : Number.NaN);
  const [nearestRmse, mappedRmse, meanRmse] = [rmse(squares.nearest), rmse(squares.mapped), rmse(squares.mean)];
  return {
    areaM2,
    kept,
    checks,
    nearestRmse,
    mappedRmse,
    meanRmse,
    nearestEfficiencyPct: predictionEfficiencyPct(nearestRmse, meanRmse),
    mappedEfficiencyPct: predictionEfficiencyPct(mappedRmse, meanRmse),
  };
}

/** Positive throughout and leaning to the right by more than chance and habit explain. */
function isSkewed(values: Float64Array): boolean {
  if (values.some((v) => !(v > 0))) return false;
  const mean = values.reduce((sum, v) => sum + v, 0) / values.length;
  let squares = 0;
  let cubes = 0;
  for (const v of values) {
    squares += (v - mean) ** 2 / values.length;
    cubes += (v - mean) ** 3 / values.length;
  }
  return squares > 0 && cubes / squares ** 1.5 > 1;
}
