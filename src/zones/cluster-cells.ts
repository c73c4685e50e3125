import {FieldError, type Issue} from "../errors.ts";
import type {Points} from "../stats/cluster-points.ts";
import {fitKMeans} from "../stats/fit-kmeans.ts";
import {seededRandom} from "../stats/random.ts";
import {formatNumber} from "../units/format.ts";
import type {FeatureMatrix} from "./feature-matrix.ts";
import type {ZoneSettings} from "./zone-options.ts";

/** Centres are fitted on no more cells than this: more do not move them, only take time. */
const MOST_FITTED = 50_000;

/**
 * Kinds of ground: centres in feature space that the field's cells gather around.
 *
 * Fitted by k-means on the cells that have every layer; in large grids on 50,000 of them spread evenly over the field.
 *
 * @returns Row-major centres, `centres.length / matrix.dims` of them: fewer than asked for when the layers do not
 *   have that many different values.
 * @throws {FieldError} `zones/too-few-cells`.
 */
export function clusterCells(
  matrix: FeatureMatrix,
  settings: Pick<ZoneSettings, "count" | "restarts" | "mostIterations" | "seed">,
): {centres: Float64Array; issues: readonly Issue[]} {
  const {dims} = matrix;
  const {count, mostIterations} = settings;
  const points = completePoints(matrix, settings.seed);
  if (points.values.length / dims < count) {
    throw new FieldError(
      "zones/too-few-cells",
      `${points.values.length / dims} cells of the field have data in every layer, too few for ${count} zones.`,
      {hint: "Choose a smaller cell size, fewer zones, or layers that cover the field."},
    );
  }
  const issues: Issue[] = [];
  const {centres, settled} = fitKMeans(points, count, settings);
  if (centres.length / dims < count) {
    issues.push({
      code: "zones/fewer-kinds",
      severity: "warning",
      message: `The layers tell only ${formatNumber(centres.length / dims)} kinds of ground apart; ${count} zones were asked for.`,
      hint: "Ask for fewer zones or add a layer.",
    });
  }
  if (!settled) {
    issues.push({
      code: "zones/not-settled",
      severity: "warning",
      message: `Zones were still shifting after ${mostIterations} iterations.`,
      hint: "Allow more iterations.",
    });
  }
  return {centres, issues};
}

/** Rows without gaps; when there are very many, one drawn from each of equally long runs of them. */
function completePoints({values, dims, cells}: FeatureMatrix, seed: number): Points {
  const complete: number[] = [];
  for (let i = 0; i < cells.length; i++) {
    if (!values.subarray(i * dims, (i + 1) * dims).includes(Number.NaN)) complete.push(i);
  }
  const rows = Math.min(complete.length, MOST_FITTED);
  const random = seededRandom(seed, "zones/cells to fit");
  const out = new Float64Array(rows * dims);
  for (let i = 0; i < rows; i++) {
    const from = Math.floor((i * complete.length) / rows);
    const to = Math.floor(((i + 1) * complete.length) / rows);
    const row = complete[to - from > 1 ? from + random.integer(to - from) : from] as number;
    out.set(values.subarray(row * dims, (row + 1) * dims), i * dims);
  }
  return {values: out, dims};
}
