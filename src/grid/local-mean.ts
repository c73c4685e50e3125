/**
 * Mean of the cells between two distances of each cell. NaN cells count for nothing; NaN where the cell itself has no
 * data or none of those cells has.
 *
 * A cell is as far as its centre. Sums along rows make the work independent of how far the radius reaches across.
 *
 * @param radiusCells - Cells as far as this, or nearer, count.
 * @param innerCells - Cells nearer than this, or as near, do not; 0 leaves out the cell itself alone. Default 0.
 */
export function meanAround(values: Float64Array, cols: number, radiusCells: number, innerCells = 0): Float64Array {
  const rows = values.length / cols;
  const known = values.map((value) => (Number.isNaN(value) ? 0 : 1));
  const sums = runningSums(
    values.map((value) => (Number.isNaN(value) ? 0 : value)),
    cols,
  );
  const counts = runningSums(known, cols);
  const outer = halfWidths(radiusCells);
  const inner = halfWidths(innerCells);
  const means = new Float64Array(values.length);
  const sum = new Float64Array(cols);
  const count = new Float64Array(cols);
  for (let row = 0; row < rows; row++) {
    sum.fill(0);
    count.fill(0);
    if (inner.length > 1) {
      addDisc(sums, cols, row, inner, -1, sum);
      addDisc(counts, cols, row, inner, -1, count);
    } else {
      takeOff(values, row * cols, sum, count);
    }
    addDisc(sums, cols, row, outer, 1, sum);
    addDisc(counts, cols, row, outer, 1, count);
    for (let col = 0; col < cols; col++) {
      const at = row * cols + col;
      const has = known[at] === 1 && (count[col] as number) > 0;
      means[at] = has ? (sum[col] as number) / (count[col] as number) : Number.NaN;
    }
  }
  return means;
}

/** The cells of a row themselves: as they are, not as differences of sums, which would lose their last digits. */
function takeOff(values: Float64Array, start: number, sum: Float64Array, count: Float64Array): void {
  for (let col = 0; col < sum.length; col++) {
    const own = values[start + col] as number;
    if (Number.isNaN(own)) continue;
    sum[col] = -own;
    count[col] = -1;
  }
}

/** Sums of each row from its start, a column longer than the raster. */
function runningSums(values: Float64Array, cols: number): Float64Array {
  const rows = values.length / cols;
  const sums = new Float64Array(rows * (cols + 1));
  for (let row = 0; row < rows; row++) {
    for (let col = 0; col < cols; col++) {
      const at = row * (cols + 1) + col;
      sums[at + 1] = (sums[at] as number) + (values[row * cols + col] as number);
    }
  }
  return sums;
}

/** How many cells a disc reaches to each side, in its middle row and the rows away from it. */
function halfWidths(radiusCells: number): number[] {
  const reach = Math.floor(radiusCells + 1e-9);
  return Array.from({length: reach + 1}, (_, away) =>
    Math.floor(Math.sqrt(radiusCells * radiusCells - away ** 2 + 1e-9)),
  );
}

/** The sum over a disc around every cell of a row, added or taken off. */
function addDisc(
  sums: Float64Array,
  cols: number,
  row: number,
  widths: readonly number[],
  sign: 1 | -1,
  into: Float64Array,
): void {
  const rows = sums.length / (cols + 1);
  const reach = widths.length - 1;
  for (let r = Math.max(0, row - reach); r <= Math.min(rows - 1, row + reach); r++) {
    const half = widths[Math.abs(r - row)] as number;
    const start = r * (cols + 1);
    for (let col = 0; col < cols; col++) {
      const from = sums[start + (col > half ? col - half : 0)] as number;
      const to = sums[start + (col + half < cols ? col + half + 1 : cols)] as number;
      into[col] = (into[col] as number) + sign * (to - from);
    }
  }
}
