/** How two labellings of the same things meet: `counts[a * columns + b]` things are in `a` of one and `b` of the other. */
export interface CrossTable {
  readonly rows: number;
  readonly columns: number;
  readonly counts: Float64Array;
}

/**
 * Counts how labels meet.
 *
 * @param a - Whole numbers from 0; `b` of the same length.
 */
export function crossTable(a: ArrayLike<number>, b: ArrayLike<number>): CrossTable {
  let rows = 0;
  let columns = 0;
  for (let i = 0; i < a.length; i++) {
    rows = Math.max(rows, (a[i] as number) + 1);
    columns = Math.max(columns, (b[i] as number) + 1);
  }
  const counts = new Float64Array(rows * columns);
  for (let i = 0; i < a.length; i++) {
    const at = (a[i] as number) * columns + (b[i] as number);
    counts[at] = (counts[at] as number) + 1;
  }
  return {rows, columns, counts};
}

/**
 * Adjusted Rand index of two labellings: 1 when they divide alike whatever the labels are called, 0 on average for
 * divisions made by chance; it can fall below 0.
 *
 * @returns 1 as well when both put everything in one group, or each thing in its own: there is nothing to differ in.
 *
 * Source: Hubert and Arabie (1985), Comparing partitions, J. Classification 2:193–218.
 */
export function adjustedRandIndex(a: ArrayLike<number>, b: ArrayLike<number>): number {
  const {rows, columns, counts} = crossTable(a, b);
  const inA = new Float64Array(rows);
  const inB = new Float64Array(columns);
  let both = 0;
  counts.forEach((count, at) => {
    const [row, column] = [Math.floor(at / columns), at % columns];
    inA[row] = (inA[row] as number) + count;
    inB[column] = (inB[column] as number) + count;
    both += pairs(count);
  });
  const pairsA = inA.reduce((sum, count) => sum + pairs(count), 0);
  const pairsB = inB.reduce((sum, count) => sum + pairs(count), 0);
  const expected = a.length > 1 ? (pairsA * pairsB) / pairs(a.length) : 0;
  const most = (pairsA + pairsB) / 2;
  return most === expected ? 1 : (both - expected) / (most - expected);
}

const pairs = (count: number): number => (count * (count - 1)) / 2;

/**
 * The one-to-one naming of columns by rows under which most things have the same label in both.
 *
 * @returns For each column its row; -1 for columns left over when there are more columns than rows.
 *
 * Source: the assignment method of Kuhn (1955) and Munkres (1957), with shortest augmenting paths.
 */
export function matchLabels({rows, columns, counts}: CrossTable): Int32Array {
  const size = Math.max(rows, columns);
  const cost = (row: number, column: number): number =>
    row < rows && column < columns ? -(counts[row * columns + column] as number) : 0;
  const rowPrice = new Float64Array(size + 1);
  const columnPrice = new Float64Array(size + 1);
  const rowOf = new Int32Array(size + 1); // 1-based; 0 is none
  for (let row = 1; row <= size; row++) {
    const cameFrom = new Int32Array(size + 1);
    const slack = new Float64Array(size + 1).fill(Infinity);
    const seen = new Uint8Array(size + 1);
    rowOf[0] = row;
    let column = 0;
    while (rowOf[column] !== 0) {
      seen[column] = 1;
      const at = rowOf[column] as number;
      let least = Infinity;
      let next = 0;
      for (let j = 1; j <= size; j++) {
        if (seen[j]) continue;
        const reduced = cost(at - 1, j - 1) - (rowPrice[at] as number) - (columnPrice[j] as number);
        if (reduced < (slack[j] as number)) {
          slack[j] = reduced;
          cameFrom[j] = column;
        }
        if ((slack[j] as number) < least) {
          least = slack[j] as number;
          next = j;
        }
      }
      for (let j = 0; j <= size; j++) {
        if (seen[j]) {
          rowPrice[rowOf[j] as number] = (rowPrice[rowOf[j] as number] as number) + least;
          columnPrice[j] = (columnPrice[j] as number) - least;
        } else slack[j] = (slack[j] as number) - least;
      }
      column = next;
    }
    while (column !== 0) {
      const before = cameFrom[column] as number;
      rowOf[column] = rowOf[before] as number;
      column = before;
    }
  }
  return Int32Array.from({length: columns}, (_, j) => {
    const row = (rowOf[j + 1] as number) - 1;
    return row < rows ? row : -1;
  });
}
