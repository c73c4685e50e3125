import type {Points} from "./cluster-points.ts";

/**
 * Share of the total variance that a grouping of rows explains: 1 - (sum of squares within groups) / (sum of squares
 * about the mean), both summed over all columns. 0 when nothing varies.
 *
 * @param points - NaN is skipped, column by column.
 * @param labels - Group of each row, any whole numbers from 0.
 */
export function varianceExplained({values, dims}: Points, labels: ArrayLike<number>): number {
  let within = 0;
  let total = 0;
  for (let c = 0; c < dims; c++) {
    const column = Array.from(labels, (_, i) => values[i * dims + c] as number);
    within += squaresAboutMeans(column, labels);
    total += squaresAboutMeans(column, new Uint8Array(labels.length));
  }
  return total > 0 ? 1 - within / total : 0;
}

function squaresAboutMeans(column: readonly number[], labels: ArrayLike<number>): number {
  const sums: number[] = [];
  const sizes: number[] = [];
  column.forEach((v, i) => {
    if (Number.isNaN(v)) return;
    const label = labels[i] as number;
    sums[label] = (sums[label] ?? 0) + v;
    sizes[label] = (sizes[label] ?? 0) + 1;
  });
  let squares = 0;
  column.forEach((v, i) => {
    if (Number.isNaN(v)) return;
    const label = labels[i] as number;
    squares += (v - (sums[label] as number) / (sizes[label] as number)) ** 2;
  });
  return squares;
}
