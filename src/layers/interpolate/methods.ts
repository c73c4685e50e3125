import {effectiveRange, type VariogramModel, type VariogramShape} from "../../stats/covariance.ts";
import type {Predict} from "../../stats/cross-validate.ts";
import {fitVariogram} from "../../stats/fit-variogram.ts";
import {inverseDistanceAt} from "../../stats/inverse-distance.ts";
import {type KrigingOptions, krige} from "../../stats/kriging.ts";
import {indexPoints} from "../../stats/point-index.ts";
import {sampleVariogram} from "../../stats/variogram.ts";

export type InterpolationMethod = "kriging" | "inverse distance" | "nearest" | "mean";

/** How the methods are set; resolved, no default left. */
export interface MethodSettings {
  readonly power: number;
  readonly neighbours: number;
  readonly krigingNeighbours: number;
  readonly fewest: number;
  readonly sectors: 4 | 8 | undefined;
  readonly seed: number;
}

/** Points as told, everywhere the same. */
export const byMean: Predict = ({values}, {x}) => {
  const mean = values.reduce((sum, value) => sum + value, 0) / values.length;
  return {values: new Float64Array(x.length).fill(mean)};
};

export const byNearest: Predict = (known, places) => ({
  values: inverseDistanceAt(indexPoints(known.x, known.y), known.values, places, {neighbours: 1}),
});

export function byInverseDistance(settings: MethodSettings, withinM = Infinity): Predict {
  const {power, neighbours, fewest, sectors} = settings;
  return (known, places) => ({
    values: inverseDistanceAt(indexPoints(known.x, known.y), known.values, places, {
      power,
      neighbours,
      fewest,
      within: withinM,
      ...(sectors && {sectors}),
    }),
  });
}

/** Kriging that fits its model to the points it is told, the shape and the distances looked at as given. */
export function byKrigingAnew(shape: VariogramShape, cutoffM: number, settings: MethodSettings): Predict {
  return (known, places) => {
    const sample = sampleVariogram(known.x, known.y, known.values, {cutoff: cutoffM, seed: settings.seed});
    const fit = fitVariogram(sample, [shape]);
    if (!fit) return {values: new Float64Array(places.x.length).fill(Number.NaN)};
    return krige(known, fit.model, places, krigingOptions(settings));
  };
}

export function krigingOptions({krigingNeighbours, fewest, sectors}: MethodSettings): KrigingOptions {
  return {neighbours: krigingNeighbours, fewest, ...(sectors && {sectors})};
}

/** A model in words, such as "spherical, nugget 12, partial sill 48, effective range 210 m". */
export function describeModel(model: VariogramModel, number: (value: number) => string): string {
  const {shape, nugget, partialSill, anisotropy} = model;
  const turned = anisotropy ? `, ${number(anisotropy.ratio)} of it across ${number(anisotropy.azimuthDeg)}°` : "";
  return `${shape}, nugget ${number(nugget)}, partial sill ${number(partialSill)}, effective range ${number(effectiveRange(model))} m${turned}`;
}
