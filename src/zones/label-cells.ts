import type {Issue} from "../errors.ts";
import type {Field} from "../geo/field.ts";
import type {Grid} from "../grid/grid.ts";
import {clusterCells} from "./cluster-cells.ts";
import {type Feature, type FeatureMatrix, featureMatrix} from "./feature-matrix.ts";
import {memberships, squaredDistances} from "./memberships.ts";
import {smoothLabels} from "./smooth-labels.ts";
import {tidyLabels} from "./tidy-labels.ts";
import type {ZoneSettings} from "./zone-options.ts";

/** Zones as cells, before they are drawn. */
export interface LabelledCells {
  readonly matrix: FeatureMatrix;
  /** Kinds of ground found. */
  readonly count: number;
  /** Label of each grid cell from 1 as clustered, and after smoothing and tidying; 0 outside. */
  readonly clustered: Uint8Array;
  readonly labels: Uint8Array;
  /** Smoothed membership of each label in each grid cell. */
  readonly strength: readonly Float64Array[];
  readonly issues: readonly Issue[];
}

/** Kinds of ground of a field's cells, smoothed and tidied for the machine: everything of zones but their lines. */
export function labelCells(
  field: Field,
  grid: Grid,
  features: readonly Feature[],
  settings: ZoneSettings,
): LabelledCells {
  const matrix = featureMatrix(field, grid, features, settings.weights, settings);
  const {centres, issues} = clusterCells(matrix, settings);
  return {...labelByCentres(grid, matrix, centres, settings), matrix, issues};
}

/** The same from centres that are known. */
export function labelByCentres(
  grid: Grid,
  matrix: FeatureMatrix,
  centres: Float64Array,
  settings: ZoneSettings,
): Pick<LabelledCells, "count" | "clustered" | "labels" | "strength"> {
  const count = centres.length / matrix.dims;
  const distances = squaredDistances(matrix, centres);
  const belonging = memberships(distances, count);
  const clustered = smoothLabels(grid, matrix.cells, belonging, count, 0);
  const smooth = smoothLabels(grid, matrix.cells, belonging, count, settings.smoothing);
  const misfit = {cells: matrix.cells, values: distances.map((d) => d / matrix.weight)};
  const {minArea: minAreaM2, minWidth: minWidthM = 0, calm = 0} = settings;
  const labels = tidyLabels(grid, smooth.labels, matrix, misfit, {minAreaM2, minWidthM, calm});
  return {count, clustered: clustered.labels, labels, strength: smooth.strength};
}
