/**
 * Topographic wetness index: ln(a / tan slope), a the ground that drains through a cell per metre of its width.
 *
 * High where much water comes to flat ground. Slopes below `leastSlope` count as that much: on level ground the index
 * would have no end.
 *
 * @param drainedCells - Cells that drain through each cell, itself counted.
 * @param slopeDeg - Slope, degrees.
 * @param leastSlope - Rise per run. Default 0.001, a decimetre in a hundred metres.
 *
 * Source: Beven and Kirkby (1979), Hydrol. Sci. Bull. 24:43-69 (from memory). Checked by closed form on a plane.
 */
export function wetnessIndex(
  drainedCells: Float64Array,
  slopeDeg: Float64Array,
  cellSizeM: number,
  leastSlope = 0.001,
): Float64Array {
  return drainedCells.map((cells, i) => {
    const fall = Math.tan(((slopeDeg[i] as number) * Math.PI) / 180);
    return Math.log((cells * cellSizeM) / Math.max(fall, leastSlope));
  });
}
