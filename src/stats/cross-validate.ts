import type {PointValues} from "./kriging.ts";
import {indexesWhere, pick} from "./pick.ts";
import {type PredictionError, predictionError} from "./prediction-error.ts";
import type {Random} from "./random.ts";
import {median} from "./robust.ts";

/** What was told of each point by others; NaN where they could not. */
export interface CrossValidated {
  readonly predicted: Float64Array;
  /** Error the method itself expects, squared; absent where it makes no such claim. */
  readonly variance?: Float64Array;
}

export interface CrossValidationSummary extends PredictionError {
  /** Mean of error² / expected error²: 1 when a method knows its own error, above 1 when it is too sure. */
  readonly meanSquaredRatio?: number;
  /** Median of the same: 0.455 for normal errors well told. Not moved by a few wild values. */
  readonly medianSquaredRatio?: number;
}

/** A method: told some points, what it says of other places. */
export type Predict = (
  known: PointValues,
  places: {readonly x: Float64Array; readonly y: Float64Array},
) => {readonly values: Float64Array; readonly variance?: Float64Array};

/**
 * Every fold told by the points of all others.
 *
 * @param fold - Fold of each point, from 0; one fold per point leaves one out at a time. Points of fold −1 are told to
 *   every fold and never asked.
 */
export function crossValidate(points: PointValues, fold: Int32Array, predict: Predict): CrossValidated {
  const predicted = new Float64Array(fold.length).fill(Number.NaN);
  const variance = new Float64Array(fold.length).fill(Number.NaN);
  let claimed = false;
  const folds = fold.reduce((most, f) => Math.max(most, f + 1), 0);
  for (let f = 0; f < folds; f++) {
    const inside = indexesWhere(fold.length, (i) => fold[i] === f);
    const outside = indexesWhere(fold.length, (i) => fold[i] !== f);
    if (inside.length === 0 || outside.length === 0) continue;
    const told = predict(chosen(points, outside), chosen(points, inside));
    claimed ||= told.variance !== undefined;
    inside.forEach((i, k) => {
      predicted[i] = told.values[k] as number;
      if (told.variance) variance[i] = told.variance[k] as number;
    });
  }
  return {predicted, ...(claimed && {variance})};
}

/** One fold for each point. */
export function foldPerPoint(count: number): Int32Array {
  return Int32Array.from({length: count}, (_, i) => i);
}

/**
 * Folds of whole squares of ground, so that a left-out point is not told by one beside it: the squares that hold points,
 * in random order, dealt to the folds in turn.
 *
 * @param side - Of a square, in the unit of the coordinates.
 * @param most - Squares are dealt until so many points are in them; points of the others get fold −1. Default all.
 */
export function foldsOfSquares(
  x: Float64Array,
  y: Float64Array,
  side: number,
  folds: number,
  random: Random,
  most = Infinity,
): Int32Array {
  const west = x.reduce((least, v) => Math.min(least, v), Infinity);
  const south = y.reduce((least, v) => Math.min(least, v), Infinity);
  const keys = Array.from(x, (px, i) => {
    const col = Math.floor((px - west) / side);
    const row = Math.floor(((y[i] as number) - south) / side);
    return row * 0x100000 + col;
  });
  const counts = new Map<number, number>();
  for (const key of keys) counts.set(key, (counts.get(key) ?? 0) + 1);
  const squares = [...counts.keys()].sort((a, b) => a - b);
  for (let k = squares.length - 1; k > 0; k--) {
    const other = random.integer(k + 1);
    [squares[k], squares[other]] = [squares[other] as number, squares[k] as number];
  }
  const foldOf = new Map<number, number>();
  let dealt = 0;
  for (let k = 0; k < squares.length && dealt < most; k++) {
    foldOf.set(squares[k] as number, k % folds);
    dealt += counts.get(squares[k] as number) as number;
  }
  return Int32Array.from(keys, (key) => foldOf.get(key) ?? -1);
}

/** Errors in one line; points nothing was told of are left out. */
export function summarise({predicted, variance}: CrossValidated, found: Float64Array): CrossValidationSummary {
  const errors = predictionError(predicted, found);
  if (!variance) return errors;
  const ratios = predicted.map((value, i) => (value - (found[i] as number)) ** 2 / (variance[i] as number));
  const known = ratios.filter((ratio) => Number.isFinite(ratio));
  return {
    ...errors,
    meanSquaredRatio: known.reduce((sum, ratio) => sum + ratio, 0) / known.length,
    medianSquaredRatio: median(known),
  };
}

function chosen({x, y, values}: PointValues, index: Int32Array): PointValues {
  return {x: pick(x, index), y: pick(y, index), values: pick(values, index)};
}
