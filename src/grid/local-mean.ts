/**
 * Mean of the cells within a radius of each cell, itself left out. NaN cells count for nothing; NaN where the cell
 * itself has no data or no neighbour has.
 *
 * A cell is within when its centre is. Sums along rows make it independent of how far the radius reaches across.
 *
 * @param radiusCells - Radius in cells.
 */
export function meanAround(values: Float64Array, cols: number, radiusCells: number): Float64Array {
  const rows = values.length / cols;
  const sums = new Float64Array(rows * (cols + 1));
  const counts = new Float64Array(rows * (cols + 1));
  for (let row = 0; row < rows; row++) {
    for (let col = 0; col < cols; col++) {
      const at = row * (cols + 1) + col;
      const value = values[row * cols + col] as number;
      const known = !Number.isNaN(value);
      sums[at + 1] = (sums[at] as number) + (known ? value : 0);
      counts[at + 1] = (counts[at] as number) + (known ? 1 : 0);
    }
  }
  const reach = Math.floor(radiusCells + 1e-9);
  const means = new Float64Array(values.length).fill(Number.NaN);
  for (let row = 0; row < rows; row++) {
    for (let col = 0; col < cols; col++) {
      const own = values[row * cols + col] as number;
      if (Number.isNaN(own)) continue;
      let sum = -own;
      let count = -1;
      for (let r = Math.max(0, row - reach); r <= Math.min(rows - 1, row + reach); r++) {
        const half = Math.floor(Math.sqrt(radiusCells * radiusCells - (r - row) ** 2 + 1e-9));
        const from = r * (cols + 1) + Math.max(0, col - half);
        const to = r * (cols + 1) + Math.min(cols - 1, col + half) + 1;
        sum += (sums[to] as number) - (sums[from] as number);
        count += (counts[to] as number) - (counts[from] as number);
      }
      if (count > 0) means[row * cols + col] = sum / count;
    }
  }
  return means;
}
