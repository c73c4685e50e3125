import {cellCount, type Grid} from "../../grid/grid.ts";
import {indexPoints, nearest, roomFor} from "../../stats/point-index.ts";
import {median} from "../../stats/robust.ts";
import {blankCoverage, type Coverage} from "./paint-coverage.ts";

/** Enough records to learn the spacing from. */
const MOST_ASKED = 2_000;

/**
 * Coverage from records that do not follow one another: every cell gets the rate of the nearest record within half a
 * swath and half the usual spacing of records. What was covered twice cannot be told this way.
 *
 * @param rate - lb/ac by record; 0 is a place that got nothing, NaN one that says nothing.
 */
export function nearestCoverage(
  grid: Grid,
  x: Float64Array,
  y: Float64Array,
  rate: Float64Array,
  swathM: Float64Array,
): Coverage {
  const coverage = blankCoverage(grid);
  const {west, north, cellSize, cols, rows} = grid;
  const spacing = spacingOf(x, y);
  const closest = new Float64Array(cellCount(grid)).fill(Infinity);
  for (let i = 0; i < rate.length; i++) {
    const lbPerAcre = rate[i] as number;
    const reach = Math.hypot(swathM[i] as number, spacing) / 2;
    if (!(lbPerAcre >= 0) || !(reach > 0)) continue;
    const col = ((x[i] as number) - west) / cellSize - 0.5;
    const row = (north - (y[i] as number)) / cellSize - 0.5;
    const cells = reach / cellSize;
    const lastRow = Math.min(rows - 1, Math.floor(row + cells));
    const lastCol = Math.min(cols - 1, Math.floor(col + cells));
    for (let r = Math.max(0, Math.ceil(row - cells)); r <= lastRow; r++) {
      for (let c = Math.max(0, Math.ceil(col - cells)); c <= lastCol; c++) {
        const distance2 = (r - row) * (r - row) + (c - col) * (c - col);
        const at = r * cols + c;
        if (distance2 > cells * cells || distance2 >= (closest[at] as number)) continue;
        closest[at] = distance2;
        coverage.rate[at] = lbPerAcre;
        coverage.visits[at] = lbPerAcre > 0 ? 1 : 0;
      }
    }
  }
  return coverage;
}

/** Usual distance from a record to the nearest other one. */
function spacingOf(x: Float64Array, y: Float64Array): number {
  const index = indexPoints(x, y);
  const room = roomFor(1);
  const every = Math.max(1, Math.floor(x.length / MOST_ASKED));
  const found: number[] = [];
  for (let i = 0; i < x.length; i += every) {
    if (!Number.isFinite((x[i] as number) + (y[i] as number))) continue;
    if (nearest(index, x[i] as number, y[i] as number, room, Infinity, i) === 0) continue;
    found.push(Math.sqrt(room.distance2[0] as number));
  }
  return median(found) || 0;
}
