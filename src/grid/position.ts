import {meanAround} from "./local-mean.ts";

/**
 * Topographic position: height above the mean of the ground between two distances. Knolls and ridges above zero,
 * swales below, slopes and plains about zero.
 *
 * @param innerM - Ground nearer than this, or as near, is left out; 0 leaves out the cell itself alone. Default 0.
 *
 * Source: Weiss (2001), conference poster, from memory. Checked against full searches, gdaldem's eight neighbours, SAGA.
 */
export function positionAbove(
  values: Float64Array,
  cols: number,
  cellSizeM: number,
  outerM: number,
  innerM = 0,
): Float64Array {
  const means = meanAround(values, cols, outerM / cellSizeM, innerM / cellSizeM);
  return values.map((z, i) => z - (means[i] as number));
}
