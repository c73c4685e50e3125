import {GRADIENT_WEIGHTS, type GradientMethod, gradientAt} from "./terrain-gradient.ts";

/**
 * Slope of a height surface in degrees.
 *
 * Edges and cells beside no-data: see `gradientAt`. NaN where the cell has no height.
 *
 * @param values - Heights in metres, row-major, row 0 north, `cols` to a row.
 * @param method - How the 3 × 3 window is weighed. Default Horn's.
 *
 * Sources: Horn (1981), Proc. IEEE 69:14-47; Zevenbergen and Thorne (1987), Earth Surf. Process. Landforms 12:47-56;
 * Evans (1979), all from memory. Checked against planes, a cone, gdaldem (Horn and Zevenbergen-Thorne) and GRASS (Evans).
 */
export function slopeDegrees(
  values: Float64Array,
  cols: number,
  cellSizeM: number,
  method: GradientMethod = "horn",
): Float64Array {
  const rows = values.length / cols;
  const slope = new Float64Array(values.length);
  const rowOf = (of: Float64Array, row: number): Float64Array => of.subarray(row * cols, (row + 1) * cols);
  const squares = new Float64Array(cols);
  for (let row = 0; row < rows; row++) {
    const inside = row > 0 && row < rows - 1;
    const whole =
      inside && squareRises(rowOf(values, row - 1), rowOf(values, row), rowOf(values, row + 1), method, squares);
    // Only the two ends of a row without gaps have an incomplete window.
    for (let col = 0; col < cols; col += whole ? cols - 1 : 1) {
      const {east, north} = gradientAt(values, cols, row, col, method);
      squares[col] = east * east + north * north;
    }
    anglesOf(squares, 1 / cellSizeM, rowOf(slope, row));
  }
  return slope;
}

/**
 * Squares of the rise per cell for all but the ends of a row: differences of weighted column sums, each column summed
 * once.
 *
 * @returns False where a height is missing, or the row is too short to tell.
 */
function squareRises(
  above: Float64Array,
  heights: Float64Array,
  below: Float64Array,
  method: GradientMethod,
  squares: Float64Array,
): boolean {
  const cols = heights.length;
  const {corner, side} = GRADIENT_WEIGHTS[method];
  let sumWest = 0;
  let sum = 0;
  let fallWest = 0;
  let fall = 0;
  let all = 0;
  for (let col = 0; col < cols; col++) {
    const top = above[col] as number;
    const bottom = below[col] as number;
    const sumEast = corner * (top + bottom) + side * (heights[col] as number);
    const fallEast = top - bottom;
    if (col > 1) {
      const east = sumEast - sumWest;
      const north = corner * (fallWest + fallEast) + side * fall;
      const square = east * east + north * north;
      squares[col - 1] = square;
      all += square;
    }
    sumWest = sum;
    sum = sumEast;
    fallWest = fall;
    fall = fallEast;
  }
  // In fewer than four columns a missing centre is part of no sum.
  return cols > 3 && !Number.isNaN(all);
}

function anglesOf(squares: Float64Array, perMetre: number, angles: Float64Array): void {
  for (let col = 0; col < angles.length; col++) {
    angles[col] = atanDegrees(Math.sqrt(squares[col] as number) * perMetre);
  }
}

const DEGREES = 180 / Math.PI;
/** Places per unit that arcs are worked out from, up to where slopes are cliffs, and terms of each series. */
const PLACES = 256;
const STEEPEST = 2;
const TERMS = 6;
/** Taylor series of the arc tangent about each place x: with cot φ = x its n-th term is ∓ sin(nφ) sinⁿφ / n. */
const SERIES = Float64Array.from({length: (PLACES * STEEPEST + 1) * TERMS}, (_, i) => {
  const x = Math.floor(i / TERMS) / PLACES;
  const n = i % TERMS;
  const phi = Math.atan2(1, x);
  return DEGREES * (n === 0 ? Math.atan(x) : ((n % 2 === 1 ? 1 : -1) * Math.sin(n * phi) * Math.sin(phi) ** n) / n);
});

/**
 * Arc tangent of a number from 0 up, in degrees, right to the last digits: six terms about the nearest place, the
 * seventh under 1e-15. Math.atan takes most of the time of a slope.
 */
export function atanDegrees(x: number): number {
  if (!(x < STEEPEST)) return Math.atan(x) * DEGREES;
  const place = (x * PLACES + 0.5) | 0;
  const d = x - place * (1 / PLACES);
  const at = place * TERMS;
  return (
    (SERIES[at] as number) +
    d *
      ((SERIES[at + 1] as number) +
        d *
          ((SERIES[at + 2] as number) +
            d * ((SERIES[at + 3] as number) + d * ((SERIES[at + 4] as number) + d * (SERIES[at + 5] as number)))))
  );
}
