import type {Grid} from "../../grid/grid.ts";
import type {PlacedValues} from "../spatial-null.ts";

/**
 * Share of the variance of values that a plane explains: how much of a pattern is one slope from end to end of the field.
 * 0 when nothing varies or all places lie on one line.
 */
export function trendShare({cols}: Grid, {cells, values}: PlacedValues): number {
  const n = values.length;
  const x = Float64Array.from(cells, (cell) => cell % cols);
  const y = Float64Array.from(cells, (cell) => Math.floor(cell / cols));
  const mean = (of: Float64Array): number => of.reduce((sum, v) => sum + v, 0) / n;
  const product = (a: Float64Array, b: Float64Array): number => {
    const [ma, mb] = [mean(a), mean(b)];
    return a.reduce((sum, v, i) => sum + (v - ma) * ((b[i] as number) - mb), 0);
  };
  const [xx, xy, yy] = [product(x, x), product(x, y), product(y, y)];
  const [xv, yv, vv] = [product(x, values), product(y, values), product(values, values)];
  const determinant = xx * yy - xy * xy;
  if (!(vv > 0) || !(determinant > 1e-9 * xx * yy)) return 0;
  const slopeX = (yy * xv - xy * yv) / determinant;
  const slopeY = (xx * yv - xy * xv) / determinant;
  return (slopeX * xv + slopeY * yv) / vv;
}
