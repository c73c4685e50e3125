import type {Grid} from "./grid.ts";

/**
 * For every cell the index of the nearest marked cell, centre to centre; a marked cell is its own. -1 throughout
 * when nothing is marked. On a tie the cell in the nearer column wins, then the western one, then the northern one.
 *
 * Source: two-pass distance transform of Meijster, Roerdink and Hesselink (2000), in exact whole numbers.
 */
export function nearestCells({cols, rows}: Pick<Grid, "cols" | "rows">, marked: Uint8Array): Int32Array {
  const inColumn = nearestInColumns(cols, rows, marked);
  const out = new Int32Array(cols * rows).fill(-1);
  const columns = new Int32Array(cols); // columns whose marked cell is nearest somewhere along the row
  const from = new Int32Array(cols); // first column where it is
  for (let row = 0; row < rows; row++) {
    const height2 = (col: number): number => {
      const source = inColumn[row * cols + col] as number;
      return source === -1 ? Infinity : (source - row) ** 2;
    };
    let top = -1;
    for (let col = 0; col < cols; col++) {
      const h = height2(col);
      if (h === Infinity) continue;
      let start = 0;
      while (top >= 0) {
        const other = columns[top] as number;
        // First column that is strictly nearer to `col` than to `other`.
        start = Math.floor((col * col - other * other + h - height2(other)) / (2 * (col - other))) + 1;
        if (start > (from[top] as number)) break;
        top--;
      }
      if (top < 0) start = 0;
      if (start >= cols) continue;
      top++;
      columns[top] = col;
      from[top] = start;
    }
    for (let col = cols - 1; col >= 0 && top >= 0; col--) {
      const source = columns[top] as number;
      out[row * cols + col] = (inColumn[row * cols + source] as number) * cols + source;
      if (from[top] === col) top--;
    }
  }
  return out;
}

/** For every cell the row of the nearest marked cell in its own column, -1 when the column has none. */
function nearestInColumns(cols: number, rows: number, marked: Uint8Array): Int32Array {
  const out = new Int32Array(cols * rows).fill(-1);
  for (let col = 0; col < cols; col++) {
    let last = -1;
    for (let row = 0; row < rows; row++) {
      if (marked[row * cols + col]) last = row;
      out[row * cols + col] = last;
    }
    last = -1;
    for (let row = rows - 1; row >= 0; row--) {
      if (marked[row * cols + col]) last = row;
      const above = out[row * cols + col] as number;
      if (last !== -1 && (above === -1 || last - row < row - above)) out[row * cols + col] = last;
    }
  }
  return out;
}
