import {neighbourOf} from "./flow-neighbours.ts";

export interface PondLimits {
  /** Shallower ponds are within the error of the heights. Default 0.05 m. */
  readonly leastDepthM?: number;
  /** Smaller ponds do not stay wet for long. Default 100 m². */
  readonly leastAreaM2?: number;
}

/** Water that would stand in one depression, filled to where it spills. */
export interface Pond {
  /** The deepest cell. */
  readonly cell: number;
  /** Level of the water, where it spills. */
  readonly levelM: number;
  readonly depthM: number;
  readonly areaM2: number;
  readonly volumeM3: number;
  readonly cells: readonly number[];
}

/**
 * Ponds from the ground and the same ground with its depressions filled.
 *
 * A pond is the cells under water that touch, corners too, and share one level; the whole of it counts when its
 * deepest point and its area reach the limits, its shallow rim as well.
 *
 * @param levels - Heights with depressions filled.
 * @returns The ponds, most water first, and the depth of water in each cell: 0 outside ponds, NaN without a height.
 */
export function findPonds(
  heights: Float64Array,
  levels: Float64Array,
  cols: number,
  cellSizeM: number,
  {leastDepthM = 0.05, leastAreaM2 = 100}: PondLimits = {},
): {ponds: readonly Pond[]; depth: Float64Array} {
  const depth = heights.map((z) => (Number.isNaN(z) ? z : 0));
  const deep = (cell: number): number => (levels[cell] as number) - (heights[cell] as number);
  const seen = new Uint8Array(heights.length);
  const cellArea = cellSizeM * cellSizeM;
  const ponds: Pond[] = [];
  for (let start = 0; start < heights.length; start++) {
    if (seen[start] || !(deep(start) > 0)) continue;
    const levelM = levels[start] as number;
    const cells = [start];
    seen[start] = 1;
    let deepest = start;
    let sum = 0;
    for (let i = 0; i < cells.length; i++) {
      const cell = cells[i] as number;
      sum += deep(cell);
      if (deep(cell) > deep(deepest)) deepest = cell;
      for (let k = 0; k < 8; k++) {
        const next = neighbourOf(heights, cols, cell, k);
        if (next === -1 || seen[next] || levels[next] !== levelM || !(deep(next) > 0)) continue;
        seen[next] = 1;
        cells.push(next);
      }
    }
    const areaM2 = cells.length * cellArea;
    if (deep(deepest) < leastDepthM || areaM2 < leastAreaM2) continue;
    for (const cell of cells) depth[cell] = deep(cell);
    ponds.push({cell: deepest, levelM, depthM: deep(deepest), areaM2, volumeM3: sum * cellArea, cells});
  }
  return {ponds: ponds.sort((a, b) => b.volumeM3 - a.volumeM3 || a.cell - b.cell), depth};
}
