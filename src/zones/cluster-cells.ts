import {FieldError, type Issue} from "../errors.ts";
import type {Points} from "../stats/cluster-points.ts";
import {fitKMeans} from "../stats/fit-kmeans.ts";
import {fuzzyCMeans} from "../stats/fuzzy-cmeans.ts";
import {FUZZY_EXPONENT} from "../stats/fuzzy-memberships.ts";
import {seededRandom} from "../stats/random.ts";
import {formatNumber} from "../units/format.ts";
import type {FeatureMatrix} from "./feature-matrix.ts";
import {completeRows} from "./theme-components.ts";
import type {ZoneSettings} from "./zone-options.ts";

/** Centres are fitted on no more cells than this: more do not move them, only take time. */
const MOST_FITTED = 50_000;

export interface ClusterSettings extends Pick<ZoneSettings, "count" | "restarts" | "mostIterations" | "seed"> {
  readonly method?: "k-means" | "fuzzy" | undefined;
  readonly exponent?: number | undefined;
}

/**
 * Kinds of ground: centres in feature space that the field's cells gather around.
 *
 * Fitted by k-means on the cells that have every layer; in large grids on 50,000 of them spread evenly over the field.
 *
 * @param settings.method - `fuzzy` goes on from there by fuzzy c-means: centres are then means of all cells, by how much
 *   they belong. Default `k-means`.
 * @param settings.exponent - Of fuzzy c-means. Default 1.5.
 * @returns Row-major centres, `centres.length / matrix.dims` of them: fewer than asked for when the layers do not
 *   have that many different values.
 * @throws {FieldError} `zones/too-few-cells`.
 */
export function clusterCells(
  matrix: FeatureMatrix,
  settings: ClusterSettings,
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
  const {centres, settled} = fitted(points, settings);
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

function fitted(points: Points, settings: ClusterSettings): {centres: Float64Array; settled: boolean} {
  const {count, method = "k-means", exponent = FUZZY_EXPONENT} = settings;
  const crisp = fitKMeans(points, count, settings);
  return method === "fuzzy" ? fuzzyCMeans(points, crisp.centres, {exponent}) : crisp;
}

/** Rows without gaps; when there are very many, one drawn from each of equally long runs of them. */
export function completePoints(matrix: FeatureMatrix, seed: number): Points {
  const {values, dims} = matrix;
  const complete = completeRows(matrix);
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
