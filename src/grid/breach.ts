import {fillDepressions} from "./fill.ts";
import {CellHeap} from "./flow-heap.ts";
import {NEIGHBOUR_STEPS, neighbourOf, rimOf} from "./flow-neighbours.ts";

export interface BreachLimits {
  /** How far from the bottom of a depression a cut may reach, in cells. */
  readonly reachCells: number;
  /** How deep a cut may be anywhere, in the unit of the heights. */
  readonly depth: number;
}

/** Of equally deep cuts the shorter one is taken: a step counts like a cut of a thousandth of a millimetre. */
const COST_OF_STEP = 1e-6;

/**
 * Depressions opened by the least cut to lower ground or to the raster's edge: what a culvert does under a road.
 *
 * From the bottom of each depression, the lowest first, the path is sought along which the least has to be dug (depth
 * times length) and its cells are brought down to the bottom. A depression without such a path within the limits is
 * left as it is: fill it afterwards.
 *
 * Source: after the least-cost breaching of Lindsay and Dhun (2015), Int. J. Geogr. Inf. Sci. 29:845-862 (from memory).
 * Checked on a bowl behind a dam and by flooding the result: no cell stands higher under water than before.
 */
export function breachDepressions(
  heights: Float64Array,
  cols: number,
  {reachCells, depth}: BreachLimits,
): {heights: Float64Array; opened: number; left: number} {
  const cut = heights.slice();
  const rim = rimOf(heights, cols);
  const search = {
    heap: new CellHeap(),
    round: new Int32Array(heights.length),
    cost: new Float64Array(heights.length),
    via: new Int32Array(heights.length),
  };
  let opened = 0;
  let left = 0;
  bottomsOf(heights, cols).forEach((bottom, i) => {
    const level = cut[bottom] as number;
    let cell = wayOut(cut, cols, rim, bottom, i + 1, reachCells, depth, search);
    if (cell === -1) {
      left++;
      return;
    }
    opened++;
    for (; cell !== bottom; cell = search.via[cell] as number) cut[cell] = Math.min(cut[cell] as number, level);
  });
  return {heights: cut, opened, left};
}

/** One cell of each lowest place that water cannot leave, the lowest place first. */
function bottomsOf(heights: Float64Array, cols: number): number[] {
  const {levels} = fillDepressions(heights, cols);
  const seen = new Uint8Array(heights.length);
  const bottoms: number[] = [];
  for (let start = 0; start < heights.length; start++) {
    if (seen[start] || !((levels[start] as number) > (heights[start] as number))) continue;
    // Level ground is one place, and no bottom when any of it lies above a neighbour.
    const level = heights[start] as number;
    const place = [start];
    seen[start] = 1;
    let lowest = true;
    for (let i = 0; i < place.length; i++) {
      for (let k = 0; k < 8; k++) {
        const next = neighbourOf(heights, cols, place[i] as number, k);
        if (next === -1) continue;
        const height = heights[next] as number;
        if (height < level) lowest = false;
        if (height !== level || seen[next]) continue;
        seen[next] = 1;
        place.push(next);
      }
    }
    if (lowest) bottoms.push(start);
  }
  return bottoms.sort((a, b) => (heights[a] as number) - (heights[b] as number) || a - b);
}

/** The nearest cell, by what has to be dug, that lies below the bottom or at the rim; -1 within the limits none. */
function wayOut(
  heights: Float64Array,
  cols: number,
  rim: Uint8Array,
  bottom: number,
  round: number,
  reachCells: number,
  depth: number,
  search: {readonly heap: CellHeap; readonly round: Int32Array; readonly cost: Float64Array; readonly via: Int32Array},
): number {
  const {heap, cost, via} = search;
  const level = heights[bottom] as number;
  const far = (cell: number): boolean =>
    Math.hypot((cell % cols) - (bottom % cols), Math.floor(cell / cols) - Math.floor(bottom / cols)) > reachCells;
  heap.clear();
  search.round[bottom] = round;
  cost[bottom] = 0;
  heap.push(bottom, 0);
  while (heap.size > 0) {
    const spent = heap.level;
    const cell = heap.pop();
    if (spent > (cost[cell] as number)) continue; // reached more cheaply since
    if ((heights[cell] as number) < level || rim[cell]) return cell;
    for (let k = 0; k < 8; k++) {
      const next = neighbourOf(heights, cols, cell, k);
      if (next === -1 || far(next)) continue;
      const dig = Math.max(0, (heights[next] as number) - level);
      if (dig > depth) continue;
      const total = spent + (dig + COST_OF_STEP) * (NEIGHBOUR_STEPS[k] as number);
      if (search.round[next] === round && (cost[next] as number) <= total) continue;
      search.round[next] = round;
      cost[next] = total;
      via[next] = cell;
      heap.push(next, total);
    }
  }
  return -1;
}
