/** Pieces of lines as flat arrays: piece `i` runs from (`x[i]`, `y[i]`) to (`x[i + 1]`, `y[i + 1]`). */
export interface Segments {
  readonly x: Float64Array;
  readonly y: Float64Array;
  /** Which `i` are pieces: the last point of a line starts none. */
  readonly first: Int32Array;
}

/** Pieces sorted into square cells: those that come near one another have a cell in common. */
export interface SegmentIndex {
  /** Calls back with the pairs that may meet, lower number first, often more than once; stops when that answers false. */
  everyPair(meets: (s: number, t: number) => boolean): boolean;
  /** The pieces that may come near a point. */
  near(x: number, y: number): Int32Array;
}

/** Far over rounding, far under a cell. */
const SLACK_M = 1e-6;
const MOST_CELLS = 2 ** 20;

/** A search grid whose cells hold a few pieces each; a long piece is in the cells along it, not in those of its box. */
export function indexSegments({x, y, first}: Segments): SegmentIndex {
  let [west, east, south, north] = [Infinity, -Infinity, Infinity, -Infinity];
  for (let i = 0; i < x.length; i++) {
    west = Math.min(west, x[i] as number);
    east = Math.max(east, x[i] as number);
    south = Math.min(south, y[i] as number);
    north = Math.max(north, y[i] as number);
  }
  const [width, height] = [Math.max(1, east - west), Math.max(1, north - south)];
  const size = Math.sqrt((width * height) / Math.min(MOST_CELLS, 2 * first.length + 16));
  const cols = Math.floor(width / size) + 1;
  const rows = Math.floor(height / size) + 1;
  const colOf = (v: number): number => Math.max(0, Math.min(cols - 1, Math.floor((v - west) / size)));
  const rowOf = (v: number): number => Math.max(0, Math.min(rows - 1, Math.floor((v - south) / size)));

  const eachCell = (visit: (cell: number, segment: number) => void): void => {
    for (let i = 0; i < first.length; i++) {
      const s = first[i] as number;
      const x0 = x[s] as number;
      const y0 = y[s] as number;
      const x1 = x[s + 1] as number;
      const y1 = y[s + 1] as number;
      const low = rowOf(Math.min(y0, y1) - SLACK_M);
      const high = rowOf(Math.max(y0, y1) + SLACK_M);
      const left = colOf(Math.min(x0, x1) - SLACK_M);
      const right = colOf(Math.max(x0, x1) + SLACK_M);
      const slope = low === high || left === right ? 0 : (x1 - x0) / (y1 - y0);
      for (let row = low; row <= high; row++) {
        let from = left;
        let to = right;
        if (slope !== 0) {
          // Where the piece enters and leaves this row of cells.
          const p = x0 + (south + row * size - SLACK_M - y0) * slope;
          const q = x0 + (south + (row + 1) * size + SLACK_M - y0) * slope;
          from = Math.max(left, colOf(Math.min(p, q) - SLACK_M));
          to = Math.min(right, colOf(Math.max(p, q) + SLACK_M));
        }
        for (let cell = row * cols + from; cell <= row * cols + to; cell++) visit(cell, s);
      }
    }
  };
  const starts = new Int32Array(cols * rows + 1);
  eachCell((cell) => {
    starts[cell + 1] = (starts[cell + 1] as number) + 1;
  });
  for (let cell = 0; cell < cols * rows; cell++)
    starts[cell + 1] = (starts[cell + 1] as number) + (starts[cell] as number);
  const members = new Int32Array(starts[cols * rows] as number);
  const next = starts.slice();
  eachCell((cell, segment) => {
    const at = next[cell] as number;
    members[at] = segment;
    next[cell] = at + 1;
  });

  return {
    everyPair: (meets) => {
      for (let cell = 0; cell < cols * rows; cell++) {
        const end = starts[cell + 1] as number;
        for (let i = starts[cell] as number; i < end; i++) {
          const s = members[i] as number;
          const x0 = x[s] as number;
          const y0 = y[s] as number;
          const x1 = x[s + 1] as number;
          const y1 = y[s + 1] as number;
          const w = Math.min(x0, x1) - SLACK_M;
          const e = Math.max(x0, x1) + SLACK_M;
          const b = Math.min(y0, y1) - SLACK_M;
          const n = Math.max(y0, y1) + SLACK_M;
          for (let j = i + 1; j < end; j++) {
            const t = members[j] as number;
            const p = x[t] as number;
            const q = x[t + 1] as number;
            if ((p > e && q > e) || (p < w && q < w)) continue;
            const u = y[t] as number;
            const v = y[t + 1] as number;
            if ((u > n && v > n) || (u < b && v < b)) continue;
            if (!meets(s, t)) return false;
          }
        }
      }
      return true;
    },
    near: (px, py) => {
      const cell = rowOf(py) * cols + colOf(px);
      return members.subarray(starts[cell], starts[cell + 1]);
    },
  };
}
