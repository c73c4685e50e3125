import {type GradientMethod, gradientAt} from "./terrain-gradient.ts";

/**
 * The direction ground falls to, degrees clockwise from north: 180 faces south. NaN where it is level or unknown.
 *
 * For maps: 1 and 359 are the same direction and far apart as numbers. Zones take `exposure`.
 *
 * @param method - As for `slopeDegrees`. Checked against gdaldem and closed forms.
 */
export function aspectDegrees(values: Float64Array, cols: number, method: GradientMethod = "horn"): Float64Array {
  return values.map((_, i) => {
    const {east, north} = gradientAt(values, cols, Math.floor(i / cols), i % cols, method);
    if (east === 0 && north === 0) return Number.NaN;
    const degrees = (Math.atan2(-east, -north) * 180) / Math.PI;
    return degrees < 0 ? degrees + 360 : degrees;
  });
}

/**
 * How far ground is turned to the north and to the east: the cosine and sine of its aspect, each times the sine of its
 * slope. 0 on level ground; −0.1 to the north on a slope of a tenth that faces south.
 */
export function exposure(
  values: Float64Array,
  cols: number,
  cellSizeM: number,
  method: GradientMethod = "horn",
): {northness: Float64Array; eastness: Float64Array} {
  const northness = new Float64Array(values.length);
  const eastness = new Float64Array(values.length);
  for (let i = 0; i < values.length; i++) {
    const {east, north} = gradientAt(values, cols, Math.floor(i / cols), i % cols, method);
    const length = Math.hypot(east, north, cellSizeM);
    northness[i] = -north / length;
    eastness[i] = -east / length;
  }
  return {northness, eastness};
}
