import {
  type CrossValidationSummary,
  crossValidate,
  foldPerPoint,
  foldsOfSquares,
  type Predict,
  summarise,
} from "../../stats/cross-validate.ts";
import type {PointValues} from "../../stats/kriging.ts";
import {seededRandom} from "../../stats/random.ts";
import {formatNumber} from "../../units/format.ts";
import type {SpatialStructure} from "./judge-structure.ts";
import {
  byInverseDistance,
  byKrigingAnew,
  byMean,
  byNearest,
  type InterpolationMethod,
  type MethodSettings,
} from "./methods.ts";

/** How well one method told places it was not told. */
export interface Candidate extends CrossValidationSummary {
  readonly method: InterpolationMethod;
}

export interface Choice {
  readonly method: InterpolationMethod;
  /** One sentence. */
  readonly why: string;
  /** What was left out at a time, in words; empty where nothing was tried. */
  readonly leftOut: string;
  readonly candidates: readonly Candidate[];
}

/** Fewer points and nothing but their mean is told. Common practice, no source. */
export const FEWEST_FOR_A_MAP = 8;
/** Fewer and no variogram is trusted; about 100 are wanted (Webster and Oliver 1992, J. Soil Sci. 43:177). */
export const FEWEST_FOR_KRIGING = 30;
/** A map must bring the error below this share of the mean's: 10 % of the variance explained. Our own, no source. */
const BETTER_THAN_MEAN = 0.95;
/** Methods this near the least error are equal; the one that says more is then taken. Our own, no source. */
const AS_GOOD = 1.02;
/** Up to so many points are left out one by one; more by squares, in so many folds. */
const ONE_BY_ONE = 200;
const FOLDS = 10;
/** Of long logs so many points are asked; the error is then known to about 2 % of itself. */
const MOST_ASKED = 2000;
const SQUARE_SPACINGS = 4;

/** Tries the methods the points allow on points they were not told, and takes the one that told them best. */
export function chooseMethod(
  points: PointValues,
  structure: SpatialStructure,
  spacingM: number,
  settings: MethodSettings,
  unit: string,
): Choice {
  const count = points.values.length;
  if (count < FEWEST_FOR_A_MAP) {
    return {
      method: "mean",
      why: `The mean of the points everywhere: ${count} places are fewer than the ${FEWEST_FOR_A_MAP} a map needs.`,
      leftOut: "",
      candidates: [],
    };
  }
  const oneByOne = count <= ONE_BY_ONE;
  const side = SQUARE_SPACINGS * spacingM;
  const random = seededRandom(settings.seed, "layers/interpolate/folds");
  const fold = oneByOne ? foldPerPoint(count) : foldsOfSquares(points.x, points.y, side, FOLDS, random, MOST_ASKED);
  const leftOut = oneByOne
    ? "one place at a time"
    : `${count > MOST_ASKED ? `of ${formatNumber(MOST_ASKED)} ` : ""}a tenth at a time, in squares of ${formatNumber(side, side < 10 ? 1 : 0)} m`;
  const tried: [InterpolationMethod, Predict][] = [
    ["inverse distance", byInverseDistance(settings)],
    ["nearest", byNearest],
    ["mean", byMean],
  ];
  const {fit, grade, sample} = structure;
  if (count >= FEWEST_FOR_KRIGING && fit && grade !== "none") {
    tried.unshift(["kriging", byKrigingAnew(fit.model.shape, sample.cutoff, settings)]);
  }
  const candidates = tried.map(([method, predict]) => ({
    method,
    ...summarise(crossValidate(points, fold, predict), points.values),
  }));
  const mean = candidates.at(-1) as Candidate;
  const least = Math.min(...candidates.map(({rootMeanSquareError: e}) => (Number.isFinite(e) ? e : Infinity)));
  const errors = `error at places left out ${leftOut} (${unit}): ${candidates
    .map(({method, rootMeanSquareError}) => `${method} ${formatNumber(rootMeanSquareError, decimalsFor(least))}`)
    .join(", ")}`;
  const about =
    count < FEWEST_FOR_KRIGING ? `${count} places are too few for kriging (${FEWEST_FOR_KRIGING})` : structure.why;
  const patternless = count >= FEWEST_FOR_KRIGING && grade === "none";
  if (patternless || !(least < BETTER_THAN_MEAN * mean.rootMeanSquareError)) {
    return {
      method: "mean",
      why: `The mean of the points everywhere${patternless ? "" : ", as no map tells left-out places better by a tenth of the variance"}; ${about}; ${errors}.`,
      leftOut,
      candidates,
    };
  }
  const best = candidates.find(({rootMeanSquareError}) => rootMeanSquareError <= AS_GOOD * least) as Candidate;
  return {method: best.method, why: `${SAID[best.method]}; ${about}; ${errors}.`, leftOut, candidates};
}

export const SAID: Readonly<Record<InterpolationMethod, string>> = {
  kriging: "Ordinary kriging",
  "inverse distance": "Inverse distance",
  nearest: "The nearest point",
  mean: "The mean of the points",
};

/** So that an error shows three figures. */
function decimalsFor(value: number): number {
  return value > 0 && value < Infinity ? Math.max(0, 2 - Math.floor(Math.log10(value))) : 2;
}
