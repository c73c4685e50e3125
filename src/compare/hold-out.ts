import {FieldError} from "../errors.ts";
import {contains} from "../geo/measure.ts";
import type {MultiPolygon, XY} from "../geo/shapes.ts";
import type {Strategy} from "../sampling/plan.ts";
import {bootstrapInterval, bootstrapMeanOfSkewed} from "../stats/bootstrap.ts";
import type {Interval} from "../stats/interval.ts";
import {agreement, duplicateSd, predictionEfficiencyPct, predictionError} from "../stats/prediction-error.ts";
import {seededRandom} from "../stats/random.ts";
import {spearman} from "../stats/rank-correlation.ts";
import {type Verdict, verdictOf} from "./certainty.ts";

/** Fewer hold-outs are reported, but no strategy is put before another by them. */
export const FEWEST_TO_RANK = 10;

export interface HoldOutInput {
  /** What is predicted, as in "soil-test P", and its unit. */
  readonly what: string;
  readonly unit: string;
  /** What the hold-out composites read, or the rate the guide makes of them. NaN where there is none. */
  readonly found: readonly number[];
  readonly foundClasses?: readonly (string | undefined)[];
  readonly strategies: readonly {
    readonly strategy: Strategy;
    /** What the strategy says at each hold-out. NaN where it says nothing. */
    readonly predicted: readonly number[];
    readonly classes?: readonly (string | undefined)[];
  }[];
  /** Efficiency is measured against this one: whole field, as a rule. */
  readonly baseline: Strategy;
  /** Two readings of the same ground each, in the same unit: the floor no prediction can get under. */
  readonly duplicates?: readonly (readonly [number, number])[];
  /** Default 0.9. */
  readonly level?: number;
  /** Default 1000. */
  readonly draws?: number;
  readonly seed: number;
}

export interface HoldOutStrategy {
  readonly strategy: Strategy;
  readonly count: number;
  /** Predicted − found; above zero is too high. */
  readonly meanError: number;
  readonly meanErrorInterval: Interval;
  readonly meanAbsoluteError: number;
  readonly rootMeanSquareError: number;
  readonly rootMeanSquareErrorInterval: Interval;
  /** Percent; absent on the baseline. */
  readonly efficiencyPct?: number;
  readonly efficiencyPctInterval?: Interval;
  /** Spearman's; NaN for one rate over the whole field. */
  readonly rankCorrelation: number;
  /** Share of hold-outs put in the class they were found in, and Cohen's kappa. */
  readonly sameClass?: number;
  readonly kappa?: number;
}

export interface HoldOutDifference {
  readonly strategy: Strategy;
  readonly against: Strategy;
  /** Difference of the two root mean square errors; below zero the strategy errs less. */
  readonly rootMeanSquareError: number;
  readonly interval: Interval;
  /** "less" and "more" error only when the interval leaves no doubt and there are enough hold-outs. */
  readonly verdict: Verdict | "too few to rank";
}

export interface HoldOutResult {
  readonly what: string;
  readonly unit: string;
  readonly count: number;
  readonly ranked: boolean;
  readonly level: number;
  readonly strategies: readonly HoldOutStrategy[];
  readonly differences: readonly HoldOutDifference[];
  /** Spread of a single reading; NaN without duplicates. */
  readonly noiseFloor: number;
  readonly notes: readonly string[];
}

/**
 * Judges strategies by composites none of them was made from.
 *
 * Hold-outs must be taken at random over the field (or in random strata), with the same cores, depth, lab and day as the
 * rest. Differences are bootstrapped in pairs: each draw takes the same hold-outs for both strategies.
 *
 * @throws {FieldError} `compare/hold-outs` when a strategy has not as many predictions as there are hold-outs,
 *   `compare/no-baseline`.
 */
export function judgeByHoldOuts(input: HoldOutInput): HoldOutResult {
  const {what, unit, found, strategies, baseline, level = 0.9, draws = 1000, seed} = input;
  for (const {strategy, predicted} of strategies) {
    if (predicted.length === found.length) continue;
    throw new FieldError(
      "compare/hold-outs",
      `The ${strategy} strategy has ${predicted.length} predictions for ${found.length} hold-out samples.`,
      {hint: "Predict every hold-out once, NaN where the strategy says nothing."},
    );
  }
  const base = strategies.find(({strategy}) => strategy === baseline);
  if (!base) {
    throw new FieldError("compare/no-baseline", `The baseline ${baseline} is not among the strategies.`, {
      hint: "Judge it too, or choose another baseline.",
    });
  }
  // Only hold-outs every strategy speaks for, so that all are judged by the same.
  const used = found.flatMap((value, i) =>
    Number.isFinite(value) && strategies.every(({predicted}) => Number.isFinite(predicted[i])) ? [i] : [],
  );
  const errors = strategies.map(({predicted}) => used.map((i) => (predicted[i] as number) - (found[i] as number)));
  const baseErrors = errors[strategies.indexOf(base)] as number[];
  const ranked = used.length >= FEWEST_TO_RANK;
  const interval = (purpose: string, statistic: (indexes: Int32Array) => number): Interval =>
    bootstrapInterval(used.length, statistic, level, draws, seededRandom(seed, `compare/hold-out/${purpose}`));
  return {
    what,
    unit,
    count: used.length,
    ranked,
    level,
    strategies: strategies.map(({strategy, predicted, classes}, s): HoldOutStrategy => {
      const own = errors[s] as number[];
      const predictedUsed = used.map((i) => predicted[i] as number);
      const foundUsed = used.map((i) => found[i] as number);
      const {count, ...error} = predictionError(predictedUsed, foundUsed);
      const reference = predictionError(
        used.map((i) => base.predicted[i] as number),
        foundUsed,
      ).rootMeanSquareError;
      return {
        strategy,
        count,
        ...error,
        meanErrorInterval: interval("mean", (at) => meanOf(own, at)),
        rootMeanSquareErrorInterval: rmseInterval(own, level, draws, seed),
        ...(strategy !== baseline && {
          efficiencyPct: predictionEfficiencyPct(error.rootMeanSquareError, reference),
          efficiencyPctInterval: interval("efficiency", (at) =>
            predictionEfficiencyPct(rmseOf(own, at), rmseOf(baseErrors, at)),
          ),
        }),
        rankCorrelation: spearman(predictedUsed, foundUsed),
        ...(classes && input.foundClasses && agreed(classes, input.foundClasses, used)),
      };
    }),
    differences: pairsOf(strategies.map(({strategy}) => strategy)).map(([a, b]) => {
      const [mine, theirs] = [errors[a], errors[b]] as [number[], number[]];
      const range = interval("difference", (at) => rmseOf(mine, at) - rmseOf(theirs, at));
      return {
        strategy: (strategies[a] as {strategy: Strategy}).strategy,
        against: (strategies[b] as {strategy: Strategy}).strategy,
        rootMeanSquareError: rmseOf(mine) - rmseOf(theirs),
        interval: range,
        verdict: ranked ? verdictOf(range) : "too few to rank",
      };
    }),
    noiseFloor: duplicateSd(input.duplicates ?? []),
    notes: notesOn(used.length, found.length, (input.duplicates ?? []).length),
  };
}

/** The value of the part that holds each place; NaN where none does. The first of overlapping parts counts. */
export function valuesAt(
  parts: readonly {readonly shape: MultiPolygon; readonly value: number}[],
  places: readonly XY[],
): number[] {
  return places.map(({x, y}) => parts.find(({shape}) => contains(shape, x, y))?.value ?? Number.NaN);
}

/** Few squared errors lean far to the right; see `bootstrapMeanOfSkewed`. */
function rmseInterval(errors: readonly number[], level: number, draws: number, seed: number): Interval {
  const squares = Float64Array.from(errors, (error) => error * error);
  const {low, high} = bootstrapMeanOfSkewed(squares, level, draws, seededRandom(seed, "compare/hold-out/rmse"));
  return {low: Math.sqrt(low), high: Math.sqrt(high)};
}

function meanOf(errors: readonly number[], at: Int32Array): number {
  let sum = 0;
  for (const i of at) sum += errors[i] as number;
  return sum / at.length;
}

function rmseOf(errors: readonly number[], at: ArrayLike<number> = errors.map((_, i) => i)): number {
  let sum = 0;
  for (let k = 0; k < at.length; k++) sum += (errors[at[k] as number] as number) ** 2;
  return Math.sqrt(sum / at.length);
}

function agreed(
  classes: readonly (string | undefined)[],
  found: readonly (string | undefined)[],
  used: readonly number[],
): {sameClass: number; kappa: number} {
  const {same, kappa} = agreement(
    used.map((i) => classes[i]),
    used.map((i) => found[i]),
  );
  return {sameClass: same, kappa};
}

/** Every two, the later first. */
function pairsOf(list: readonly unknown[]): [number, number][] {
  return list.flatMap((_, b) => list.flatMap((__, a): [number, number][] => (a > b ? [[a, b]] : [])));
}

function notesOn(used: number, all: number, duplicates: number): string[] {
  return [
    ...(used < FEWEST_TO_RANK
      ? [`${used} hold-out samples are too few to put one strategy before another; ${FEWEST_TO_RANK} to 16 would do.`]
      : []),
    ...(used < all
      ? [`${all - used} of ${all} hold-out samples were left out: not every strategy speaks for them.`]
      : []),
    ...(duplicates === 0
      ? ["Without duplicate bags it is not known how much of the error is the luck of the hold-out samples themselves."]
      : []),
  ];
}
