/**
 * How much the corners and the sides of the 3 × 3 window count, of a rise over two cells:
 * Horn 1:2:1, Evans (the plane of least squares) 1:1:1, Zevenbergen and Thorne the sides alone.
 */
export const GRADIENT_WEIGHTS = {
  horn: {corner: 1 / 8, side: 2 / 8},
  evans: {corner: 1 / 6, side: 1 / 6},
  "zevenbergen-thorne": {corner: 0, side: 1 / 2},
} as const;

export type GradientMethod = keyof typeof GRADIENT_WEIGHTS;

/** Rise per cell, NaN where it cannot be known. */
export interface Gradient {
  readonly east: number;
  readonly north: number;
}

/** A plane through fewer heights than this is noise. */
const LEAST_HEIGHTS = 4;
const UNKNOWN: Gradient = {east: Number.NaN, north: Number.NaN};

/**
 * How much ground rises per cell, to the east and to the north, at one cell.
 *
 * Where the window is incomplete (edge, no-data beside it) both come from the plane fitted by least squares to the
 * four or more heights there are: weighing the missing side as nothing would flatten every edge. NaN where the cell
 * has no height, or the heights lie in line.
 *
 * @param values - Heights, row-major, row 0 north, `cols` to a row.
 */
export function gradientAt(
  values: Float64Array,
  cols: number,
  row: number,
  col: number,
  method: GradientMethod,
): Gradient {
  const at = row * cols + col;
  if (Number.isNaN(values[at] as number)) return UNKNOWN;
  if (row > 0 && col > 0 && row < values.length / cols - 1 && col < cols - 1) {
    const {corner, side} = GRADIENT_WEIGHTS[method];
    const nw = values[at - cols - 1] as number;
    const ne = values[at - cols + 1] as number;
    const sw = values[at + cols - 1] as number;
    const se = values[at + cols + 1] as number;
    const along = (values[at + 1] as number) - (values[at - 1] as number);
    const up = (values[at - cols] as number) - (values[at + cols] as number);
    const east = corner * (ne + se - nw - sw) + side * along;
    const north = corner * (nw + ne - sw - se) + side * up;
    if (!Number.isNaN(east + north)) return {east, north};
  }
  return fittedPlane(values, cols, row, col);
}

/** The plane of least squares through the heights around a cell. */
function fittedPlane(values: Float64Array, cols: number, row: number, col: number): Gradient {
  const lastRow = Math.min(values.length / cols - 1, row + 1);
  const lastCol = Math.min(cols - 1, col + 1);
  const centre = values[row * cols + col] as number;
  let n = 0;
  let e = 0;
  let s = 0;
  let h = 0;
  let ee = 0;
  let es = 0;
  let ss = 0;
  let eh = 0;
  let sh = 0;
  for (let r = Math.max(0, row - 1); r <= lastRow; r++) {
    for (let c = Math.max(0, col - 1); c <= lastCol; c++) {
      // Above the centre: small numbers lose no digits.
      const height = (values[r * cols + c] as number) - centre;
      if (Number.isNaN(height)) continue;
      const de = c - col;
      const ds = row - r;
      n++;
      e += de;
      s += ds;
      h += height;
      ee += de * de;
      es += de * ds;
      ss += ds * ds;
      eh += de * height;
      sh += ds * height;
    }
  }
  // Spreads times n, whole numbers where they are of positions.
  const spreadE = n * ee - e * e;
  const spreadS = n * ss - s * s;
  const shared = n * es - e * s;
  const riseE = n * eh - e * h;
  const riseS = n * sh - s * h;
  const determinant = spreadE * spreadS - shared * shared;
  if (n < LEAST_HEIGHTS || determinant === 0) return UNKNOWN;
  return {
    east: (riseE * spreadS - riseS * shared) / determinant,
    north: (riseS * spreadE - riseE * shared) / determinant,
  };
}
