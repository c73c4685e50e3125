/** Cells of the 3 × 3 window, row by row from the north-west; `EAST` and `NORTH` are their offsets in cells. */
const EAST = [-1, 0, 1, -1, 0, 1, -1, 0, 1];
const NORTH = [1, 1, 1, 0, 0, 0, -1, -1, -1];
/** A plane through fewer heights than this is noise. */
const LEAST_HEIGHTS = 4;

/**
 * Slope of a height surface in degrees, by Horn's weights: ((z3 + 2 z6 + z9) − (z1 + 2 z4 + z7)) / 8h east and
 * likewise north.
 *
 * Where the window is incomplete (edge, no-data beside it) a plane is fitted by least squares to the four or more
 * heights there are. NaN where the cell has no height or the heights lie in line.
 *
 * Source: Horn (1981), Proc. IEEE 69:14-47. Checked against planes, a cone and gdaldem 3.6.2.
 *
 * @param values - Heights in metres, row-major, row 0 north, `cols` to a row.
 */
export function slopeDegrees(values: Float64Array, cols: number, cellSizeM: number): Float64Array {
  const rows = values.length / cols;
  const slope = new Float64Array(values.length).fill(Number.NaN);
  const z = new Float64Array(9);
  for (let row = 0; row < rows; row++) {
    for (let col = 0; col < cols; col++) {
      const centre = values[row * cols + col] as number;
      if (Number.isNaN(centre)) continue;
      let known = 0;
      for (let w = 0; w < 9; w++) {
        const c = col + (EAST[w] as number);
        const r = row - (NORTH[w] as number);
        const inside = c >= 0 && r >= 0 && c < cols && r < rows;
        // Heights above the centre: small numbers lose no digits.
        z[w] = inside ? (values[r * cols + c] as number) - centre : Number.NaN;
        if (!Number.isNaN(z[w] as number)) known++;
      }
      const rise = known === 9 ? horn(z) : known >= LEAST_HEIGHTS ? fittedPlane(z) : Number.NaN;
      slope[row * cols + col] = (Math.atan(rise / cellSizeM) * 180) / Math.PI;
    }
  }
  return slope;
}

/** Rise per cell. */
function horn(z: Float64Array): number {
  const [z1, z2, z3, z4, , z6, z7, z8, z9] = z as unknown as number[] as [
    number,
    number,
    number,
    number,
    number,
    number,
    number,
    number,
    number,
  ];
  return Math.hypot((z3 + 2 * z6 + z9 - (z1 + 2 * z4 + z7)) / 8, (z1 + 2 * z2 + z3 - (z7 + 2 * z8 + z9)) / 8);
}

/** Rise per cell of the least-squares plane; NaN when the known cells lie in one line. */
function fittedPlane(z: Float64Array): number {
  let n = 0;
  let e = 0;
  let s = 0;
  let h = 0;
  z.forEach((height, w) => {
    if (Number.isNaN(height)) return;
    n++;
    e += EAST[w] as number;
    s += NORTH[w] as number;
    h += height;
  });
  let ee = 0;
  let es = 0;
  let ss = 0;
  let eh = 0;
  let sh = 0;
  z.forEach((height, w) => {
    if (Number.isNaN(height)) return;
    const de = (EAST[w] as number) - e / n;
    const ds = (NORTH[w] as number) - s / n;
    const dh = height - h / n;
    ee += de * de;
    es += de * ds;
    ss += ds * ds;
    eh += de * dh;
    sh += ds * dh;
  });
  const determinant = ee * ss - es * es;
  if (determinant < 1e-9) return Number.NaN;
  return Math.hypot((eh * ss - sh * es) / determinant, (sh * ee - eh * es) / determinant);
}
