import {CellHeap} from "./flow-heap.ts";
import {neighbourOf, rimOf} from "./flow-neighbours.ts";

/** What water standing in every depression up to its lowest rim would look like. */
export interface Flooded {
  /** Heights of the ground or of the water over it. NaN stays NaN. */
  readonly levels: Float64Array;
  /** Cells with heights in the order a rising flood reaches them: levels never fall along it. */
  readonly order: Int32Array;
  /** The neighbour each cell was reached from, never higher than it: where its water goes. -1 where it leaves. */
  readonly from: Int32Array;
}

/**
 * Depressions filled to where they spill, and a way out for every cell.
 *
 * The flood starts at the raster's edge and beside no-data, where water may leave, and rises inwards; water under a rim
 * waits in a plain queue. Level ground and filled ground drain along `from`, so no slope has to be made up for them.
 *
 * Source: priority-flood of Barnes, Lehman and Mulla (2014), Computers & Geosciences 62:117-127. Checked against SAGA
 * and GRASS, equal in every cell.
 */
export function fillDepressions(heights: Float64Array, cols: number): Flooded {
  const levels = heights.slice();
  const order = new Int32Array(heights.length);
  const from = new Int32Array(heights.length).fill(-1);
  const reached = rimOf(heights, cols);
  const dry = new CellHeap();
  for (let cell = 0; cell < heights.length; cell++) {
    if (reached[cell]) dry.push(cell, heights[cell] as number);
  }
  // `order` is also the queue of cells under water: they come next, and their neighbours are looked at in that order.
  let taken = 0;
  let queued = 0;
  while (taken < queued || dry.size > 0) {
    if (taken === queued) order[queued++] = dry.pop();
    const cell = order[taken++] as number;
    const level = levels[cell] as number;
    for (let k = 0; k < 8; k++) {
      const next = neighbourOf(heights, cols, cell, k);
      if (next === -1 || reached[next]) continue;
      reached[next] = 1;
      from[next] = cell;
      if ((heights[next] as number) <= level) {
        levels[next] = level;
        order[queued++] = next;
      } else {
        dry.push(next, heights[next] as number);
      }
    }
  }
  return {levels, order: order.subarray(0, queued), from};
}
