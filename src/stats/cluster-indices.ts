import {inertiaOf, type Points, squaredDistance} from "./cluster-points.ts";

/**
 * Variance between clusters over variance within, each by its degrees of freedom: (B/(k-1)) / (W/(n-k)). Large is good.
 *
 * @param labels - From 0, none left out. NaN for one cluster; Infinity when nothing varies within.
 *
 * Source: Caliński and Harabasz (1974), Commun. Stat. 3:1-27. Checked against: scikit-learn 1.2.1 on iris.
 */
export function calinskiHarabasz(points: Points, labels: Int32Array): number {
  const centres = meansOf(points, labels);
  const count = centres.length / points.dims;
  const within = inertiaOf(points, labels, centres);
  const one = new Int32Array(labels.length);
  const between = inertiaOf(points, one, meansOf(points, one)) - within;
  return count > 1 ? between / (count - 1) / (within / (labels.length - count)) : Number.NaN;
}

/**
 * Mean over clusters of the worst (spread of one + spread of another) / distance between them. Small is good.
 *
 * Source: Davies and Bouldin (1979), IEEE Trans. PAMI 1:224-227, with mean distances. Checked against: scikit-learn 1.2.1
 * on iris.
 */
export function daviesBouldin(points: Points, labels: Int32Array): number {
  const {values, dims} = points;
  const centres = meansOf(points, labels);
  const count = centres.length / dims;
  const spread = new Float64Array(count);
  const sizes = new Float64Array(count);
  labels.forEach((j, i) => {
    spread[j] = (spread[j] as number) + Math.sqrt(squaredDistance(values, i, centres, j, dims));
    sizes[j] = (sizes[j] as number) + 1;
  });
  let sum = 0;
  for (let a = 0; a < count; a++) {
    let worst = 0;
    for (let b = 0; b < count; b++) {
      if (a === b) continue;
      const both = (spread[a] as number) / (sizes[a] as number) + (spread[b] as number) / (sizes[b] as number);
      worst = Math.max(worst, both / Math.sqrt(squaredDistance(centres, a, centres, b, dims)));
    }
    sum += worst;
  }
  return count > 1 ? sum / count : Number.NaN;
}

function meansOf({values, dims}: Points, labels: Int32Array): Float64Array {
  const count = labels.reduce((most, label) => Math.max(most, label), 0) + 1;
  const means = new Float64Array(count * dims);
  const sizes = new Float64Array(count);
  labels.forEach((j, i) => {
    sizes[j] = (sizes[j] as number) + 1;
    for (let c = 0; c < dims; c++)
      means[j * dims + c] = (means[j * dims + c] as number) + (values[i * dims + c] as number);
  });
  return means.map((sum, q) => sum / (sizes[Math.floor(q / dims)] as number));
}
