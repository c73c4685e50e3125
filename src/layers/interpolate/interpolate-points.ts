import {FieldError, type Issue} from "../../errors.ts";
import {centresOf, spreadOver} from "../../grid/cell-centres.ts";
import type {Grid} from "../../grid/grid.ts";
import type {Layer, LayerUnit} from "../../grid/layer.ts";
import type {Provenance} from "../../provenance.ts";
import type {VariogramModel} from "../../stats/covariance.ts";
import {type Kriged, krige} from "../../stats/kriging.ts";
import {indexPoints, nearest, roomFor} from "../../stats/point-index.ts";
import {type Candidate, chooseMethod, SAID} from "./choose-method.ts";
import {interpolationIssues} from "./interpolation-issues.ts";
import {judgeStructure, type SpatialStructure} from "./judge-structure.ts";
import {mergePlaces, type Places} from "./merge-places.ts";
import {
  byInverseDistance,
  byMean,
  byNearest,
  type InterpolationMethod,
  krigingOptions,
  type MethodSettings,
} from "./methods.ts";
import {usualSpacingM} from "./usual-spacing.ts";

/** Points in the field's frame; rows with NaN in value or position are left out. */
export interface MeasuredPoints<U extends LayerUnit = LayerUnit> {
  readonly id: string;
  readonly label: string;
  readonly unit: U;
  readonly x: Float64Array;
  readonly y: Float64Array;
  readonly values: Float64Array;
}

export interface InterpolateOptions {
  /** Default "auto": what tells left-out points best, of what their number allows. */
  readonly method?: "auto" | InterpolationMethod;
  /** Points that speak for a cell by inverse distance. Default 12. */
  readonly neighbours?: number;
  /** Cells with fewer points than this to speak for them have no value. Default 1. */
  readonly fewest?: number;
  /** Of inverse distance. Default 2. */
  readonly power?: number;
  /** Take neighbours evenly from quarters or eighths of the compass, for clustered points. Default nearest. */
  readonly sectors?: 4 | 8;
  /** Cells farther than this from every point stay without a value, metres. Default three times the usual spacing. */
  readonly withinM?: number;
  /** Points that speak for a cell by kriging. Default all up to 200, else 32. */
  readonly krigingNeighbours?: number;
  /** Side of the square whose mean kriging tells, metres. Default the cell; 0 for the value at its centre. */
  readonly blockM?: number;
  /** The variogram, where it is known. Default fitted to the points. */
  readonly model?: VariogramModel;
  /** For folds, shuffles and samples of long logs. Default 1. */
  readonly seed?: number;
}

export interface Interpolated<U extends LayerUnit = LayerUnit> {
  readonly layer: Layer<U>;
  readonly method: InterpolationMethod;
  /** Why this method, with the numbers it was chosen by: one sentence. */
  readonly why: string;
  /** Kriging variance (unit squared) and its root, in the unit of the values. Absent with other methods. */
  readonly variance?: Layer;
  readonly standardError?: Layer<U>;
  /** The variogram kriged with. */
  readonly model?: VariogramModel;
  /** Absent where the method was given and needed no look at the structure. */
  readonly structure?: SpatialStructure;
  /** Errors at left-out places of every method tried; empty where the method was given or the points were too few. */
  readonly candidates: readonly Candidate[];
  /** Different places with a value. */
  readonly places: number;
  readonly issues: readonly Issue[];
}

/** Points this many spacings away say nothing of a cell. Common practice, no source. */
const REACH_IN_SPACINGS = 3;
const FEWEST_POINTS = 3;
/** As many as this all speak for every cell; local neighbourhoods show seams. */
const ALL_SPEAK = 200;
const LOCAL_NEIGHBOURS = 32;

/**
 * A layer from sparse points (hand samples, soil cores, readings) by the method the points support.
 *
 * "auto": under 8 places their mean; under 30 the best of mean, nearest and inverse distance at left-out places; from 30
 * on kriging too, where there is spatial structure. The mean is taken where no map tells left-out places better. The
 * reason, and every error it rests on, is in the result. Kriging tells cell means by default.
 *
 * @param mask - 1 for cells of the field; others come out NaN.
 * @throws {FieldError} `layers/too-few-points` under three points with a value; `layers/no-variogram` when kriging is asked
 *   for and no model can be fitted.
 *
 * Random only by the seed. Kernels checked against gstat 2.1-0.
 */
export function interpolatePoints<U extends LayerUnit>(
  points: MeasuredPoints<U>,
  grid: Grid,
  mask: Uint8Array,
  options: InterpolateOptions = {},
): Interpolated<U> {
  const places = mergePlaces(points.x, points.y, points.values);
  if (places.known < FEWEST_POINTS) {
    throw new FieldError(
      "layers/too-few-points",
      `${points.label} has ${places.known} points with a value; a map needs ${FEWEST_POINTS}.`,
      {hint: "Check the columns of values and positions."},
    );
  }
  const index = indexPoints(places.x, places.y);
  const spacingM = usualSpacingM(index, index.order.slice().sort());
  const settings: MethodSettings = {
    power: options.power ?? 2,
    neighbours: options.neighbours ?? 12,
    krigingNeighbours: options.krigingNeighbours ?? (places.x.length <= ALL_SPEAK ? places.x.length : LOCAL_NEIGHBOURS),
    fewest: options.fewest ?? 1,
    sectors: options.sectors,
    seed: options.seed ?? 1,
  };
  const asked = options.method ?? "auto";
  const looks = asked === "auto" || (asked === "kriging" && !options.model);
  const structure = looks ? judgeStructure(places, spacingM, settings.seed) : undefined;
  const choice =
    asked === "auto" && structure
      ? chooseMethod(places, structure, spacingM, settings, points.unit)
      : {method: asked as InterpolationMethod, why: `${SAID[asked as InterpolationMethod]}, as asked.`, candidates: []};
  const model = choice.method === "kriging" ? (options.model ?? modelFor(points.label, structure)) : undefined;

  const withinM = choice.method === "mean" ? Infinity : (options.withinM ?? REACH_IN_SPACINGS * spacingM);
  const blockM = options.blockM ?? grid.cellSize;
  const cells = centresOf(grid, within(places, mask, grid, withinM));
  const told: {values: Float64Array; variance?: Float64Array} = model
    ? krige(places, model, cells, {...krigingOptions(settings), block: blockM})
    : choice.method === "mean"
      ? byMean(places, cells)
      : choice.method === "nearest"
        ? byNearest(places, cells)
        : byInverseDistance(settings, withinM)(places, cells);

  const madeFrom: Provenance = {
    step: "layers/interpolate",
    inputs: [points.id],
    options: {
      method: choice.method,
      why: choice.why,
      withinM,
      ...(model
        ? {model, neighbours: settings.krigingNeighbours, blockM}
        : choice.method === "inverse distance" && {neighbours: settings.neighbours, power: settings.power}),
      ...(settings.sectors && {sectors: settings.sectors}),
    },
    seed: settings.seed,
  };
  const layer: Layer<U> = {
    ...{id: points.id, label: points.label, unit: points.unit, grid},
    values: spreadOver(grid, cells, told.values),
    madeFrom,
  };
  return {
    layer,
    method: choice.method,
    why: choice.why,
    ...(told.variance && errorLayers(layer, spreadOver(grid, cells, told.variance))),
    ...(model && {model}),
    ...(structure && {structure}),
    candidates: choice.candidates,
    places: places.x.length,
    issues: interpolationIssues(layer, mask, places, {
      ...choice,
      why: asked === "auto" ? choice.why : "",
      withinM,
      model,
    }),
  };
}

function modelFor(label: string, structure: SpatialStructure | undefined): VariogramModel {
  if (structure?.fit) return structure.fit.model;
  throw new FieldError("layers/no-variogram", `${label} has too few distances between points to fit a variogram.`, {
    hint: 'Use method "auto" or "inverse distance", or give a model.',
  });
}

/** Cells of the field with a point near enough. */
function within({x, y}: Places, mask: Uint8Array, grid: Grid, withinM: number): Uint8Array {
  if (withinM === Infinity) return mask;
  const index = indexPoints(x, y);
  const found = roomFor(1);
  const near = new Uint8Array(mask.length);
  const {cells, x: cx, y: cy} = centresOf(grid, mask);
  cells.forEach((cell, k) => {
    near[cell] = nearest(index, cx[k] as number, cy[k] as number, found, withinM);
  });
  return near;
}

function errorLayers<U extends LayerUnit>(
  layer: Layer<U>,
  variance: Kriged["variance"],
): {variance: Layer; standardError: Layer<U>} {
  const {id, label, unit} = layer;
  return {
    variance: {
      ...layer,
      id: `${id}-variance`,
      label: `${label}, kriging variance`,
      unit: `(${unit})²`,
      values: variance,
    },
    standardError: {...layer, id: `${id}-error`, label: `${label}, standard error`, values: variance.map(Math.sqrt)},
  };
}
