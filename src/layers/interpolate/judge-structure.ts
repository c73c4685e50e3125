import {effectiveRange} from "../../stats/covariance.ts";
import {fitVariogram, type VariogramFit} from "../../stats/fit-variogram.ts";
import type {PointValues} from "../../stats/kriging.ts";
import {type NeighbourLikeness, neighbourLikeness} from "../../stats/neighbour-likeness.ts";
import {pick} from "../../stats/pick.ts";
import {seededRandom} from "../../stats/random.ts";
import {describe} from "../../stats/robust.ts";
import {type SampleVariogram, sampleOf, sampleVariogram} from "../../stats/variogram.ts";
import {formatNumber} from "../../units/format.ts";

/** Whether near places have like values, and how far that reaches. */
export interface SpatialStructure {
  readonly grade: "none" | "weak" | "moderate" | "strong";
  /** One sentence without its full stop. */
  readonly why: string;
  readonly likeness: NeighbourLikeness;
  readonly sample: SampleVariogram;
  /** Absent where the points show too few distances to draw a model through. */
  readonly fit?: VariogramFit;
}

/** Chance that shuffled values do as well, above which there is no pattern. Common practice, no source. */
const LARGEST_CHANCE = 0.1;
/** Nugget shares that divide strong, moderate and weak: Cambardella and others 1994, Soil Sci. Soc. Am. J. 58:1501. */
const STRONG_BELOW = 0.25;
const WEAK_ABOVE = 0.75;
const SHUFFLES = 199;
/** Points asked whether neighbours are alike; more would not change the answer. */
const MOST_ASKED = 2000;
/** Skewness above which logarithms are asked: Webster and Oliver (2007), Geostatistics for Environmental Scientists. */
const SKEWED = 1;

/**
 * What values and places say of their pattern: whether neighbours are more alike than shuffled values, and the variogram
 * model with how much of it is nugget.
 *
 * @param spacingM - Usual distance between neighbouring places.
 * @param cutoffM - Pairs farther apart are not looked at. Default a third of the diagonal of the points' box.
 */
export function judgeStructure(
  points: PointValues,
  spacingM: number,
  seed: number,
  cutoffM?: number,
): SpatialStructure {
  const likeness = likenessOf(points, seed);
  const sample = sampleVariogram(points.x, points.y, points.values, {
    seed,
    ...(cutoffM !== undefined && {cutoff: cutoffM}),
  });
  const fit = fitVariogram(sample);
  const seen = {likeness, sample, ...(fit && {fit})};
  if (!(likeness.p <= LARGEST_CHANCE)) {
    return {
      grade: "none",
      why: Number.isNaN(likeness.p)
        ? "no spatial structure: all values are the same, or too few to tell"
        : `no spatial structure: neighbours are no more alike than shuffled values are (p = ${formatNumber(likeness.p, 2)})`,
      ...seen,
    };
  }
  if (!fit) return {grade: "none", why: "no spatial structure can be told: too few distances between points", ...seen};
  if (fit.model.partialSill === 0) {
    return {grade: "none", why: "no spatial structure: values differ as much near by as far off", ...seen};
  }
  const rangeM = effectiveRange(fit.model);
  const share = formatNumber(100 * fit.nuggetShare);
  if (rangeM < spacingM || fit.rangeLimit === "short") {
    return {
      grade: "none",
      why: `no spatial structure at this spacing: likeness reaches ${formatNumber(rangeM)} m, points are ${formatNumber(spacingM)} m apart`,
      ...seen,
    };
  }
  const reach =
    fit.rangeLimit === "long"
      ? "likeness reaches beyond the distances seen, as with a slope across the field"
      : `likeness reaches ${formatNumber(rangeM)} m`;
  const grade = fit.nuggetShare < STRONG_BELOW ? "strong" : fit.nuggetShare > WEAK_ABOVE ? "weak" : "moderate";
  return {grade, why: `${grade} spatial structure: ${reach}, nugget ${share} % of the sill`, ...seen};
}

/** On logarithms where values are positive and skewed, so that a few high ones do not rule. */
function likenessOf({x, y, values}: PointValues, seed: number): NeighbourLikeness {
  const all = Int32Array.from(values, (_, i) => i);
  const asked = all.length > MOST_ASKED ? sampleOf(all, MOST_ASKED, seed) : all;
  const chosen = pick(values, asked);
  const skewed = describe(chosen).skewness > SKEWED && chosen.every((v) => v > 0);
  return neighbourLikeness(
    pick(x, asked),
    pick(y, asked),
    skewed ? chosen.map(Math.log) : chosen,
    seededRandom(seed, "layers/interpolate/likeness"),
    4,
    SHUFFLES,
  );
}
