import {neighbourOf} from "./flow-neighbours.ts";

/** The eight triangles around a cell: a neighbour along a row or column, and one across beside it. */
const FACETS = [
  [0, 1],
  [2, 1],
  [2, 3],
  [4, 3],
  [4, 5],
  [6, 5],
  [6, 7],
  [0, 7],
] as const;
const DIAGONAL = Math.PI / 4;

/**
 * Water of a cell between the two neighbours that the steepest direction lies between, by angle.
 *
 * That direction is the steepest of the eight triangles' own; where it would leave its triangle, along the side. Only
 * lower neighbours get water; triangles with a corner without height are passed by.
 *
 * @param shares - Set to the share of each neighbour, east first, against the clock.
 * @returns The sum of the shares: 1, or 0 where nothing is lower.
 *
 * Source: Tarboton (1997), Water Resour. Res. 33:309-319. Checked by closed form on planes.
 */
export function alongSteepest(heights: Float64Array, cols: number, cell: number, shares: Float64Array): number {
  const height = heights[cell] as number;
  shares.fill(0);
  let steepest = 0;
  let [straight, across, angle] = [0, 0, 0];
  for (const [one, other] of FACETS) {
    const near = neighbourOf(heights, cols, cell, one);
    const far = neighbourOf(heights, cols, cell, other);
    if (near === -1 || far === -1) continue;
    const down = height - (heights[near] as number);
    const aside = (heights[near] as number) - (heights[far] as number);
    const turn = Math.min(DIAGONAL, Math.max(0, Math.atan2(aside, down)));
    const slope =
      turn === 0
        ? down
        : turn === DIAGONAL
          ? (height - (heights[far] as number)) / Math.SQRT2
          : Math.hypot(down, aside);
    if (!(slope > steepest)) continue;
    steepest = slope;
    [straight, across, angle] = [one, other, turn];
  }
  if (steepest === 0) return 0;
  shares[straight] = 1 - angle / DIAGONAL;
  shares[across] = angle / DIAGONAL;
  return 1;
}
