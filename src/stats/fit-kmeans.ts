import {kmeans} from "ml-kmeans";
import type {KMeans} from "./cluster-lloyd.ts";
import {inertiaOf, nearestCentres, type Points, sortRows} from "./cluster-points.ts";
import {type KMeansOptions, kMeans} from "./kmeans.ts";

/** Two fits of one start are the same fit when their inertias differ by no more than this share: rounding only. */
const SAME_FIT = 1e-9;

/**
 * k-means by two programs: our kernel tries the starts, the ml-kmeans package makes the final fit from the best of
 * them, and both must agree.
 *
 * The package has one start, an arbitrary seed and takes about ten times as long, so it does not try the starts; its
 * labels belong to the centres of the round before, so rows are given to their nearest centre once more.
 *
 * @param count - Clusters wanted; fewer come back when there are fewer distinct rows.
 * @returns Clusters in no particular order, none empty.
 */
export function fitKMeans(points: Points, count: number, options: KMeansOptions): KMeans {
  const {points: sorted} = sortRows(points);
  const scan = kMeans(sorted, count, options);
  const {centroids} = kmeans(rowsOf(sorted.values, points.dims), scan.centres.length / points.dims, {
    initialization: rowsOf(scan.start, points.dims),
    // One round more than the kernel took shows the package, too, that nothing moves any longer.
    maxIterations: Math.max(1, scan.iterations + (scan.settled ? 1 : 0)),
    tolerance: 0,
  });
  const centres = Float64Array.from(centroids.flat());
  const labels = nearestCentres(points, centres);
  const inertia = inertiaOf(points, labels, centres);
  if (!(Math.abs(inertia - scan.inertia) <= SAME_FIT * scan.inertia)) {
    throw new Error(`two k-means programs disagree: inertia ${inertia} and ${scan.inertia}`);
  }
  return {...scan, centres, labels, inertia};
}

function rowsOf(values: Float64Array, dims: number): number[][] {
  const rows: number[][] = [];
  for (let i = 0; i < values.length; i += dims) rows.push(Array.from(values.subarray(i, i + dims)));
  return rows;
}
