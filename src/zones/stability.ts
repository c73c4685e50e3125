import {cellCount, type Grid} from "../grid/grid.ts";
import {adjustedRandIndex, crossTable, matchLabels} from "../stats/adjusted-rand.ts";
import {drawBlocks} from "../stats/block-bootstrap.ts";
import {type Random, seededRandom} from "../stats/random.ts";
import {quantiles} from "../stats/robust.ts";
import {clusterCells} from "./cluster-cells.ts";
import type {FeatureMatrix} from "./feature-matrix.ts";
import {type LabelledCells, labelByCentres} from "./label-cells.ts";
import type {ZoneSettings} from "./zone-options.ts";

/** How alike zones come out when they are made from other parts of the same field. */
export interface Stability {
  readonly draws: number;
  /** Side of the squares drawn, metres. */
  readonly blockM: number;
  /** Adjusted Rand index with the zones as made: mean and the bounds of the middle nine tenths. 1 is the same map. */
  readonly mean: number;
  readonly low: number;
  readonly high: number;
  /** Share of draws in which each grid cell is in its own zone, 0 to 1; NaN outside the field. */
  readonly agreement: Float64Array;
}

/** Centres move little between this many rows and all of them, beside what drawing other blocks moves them. */
const MOST_ROWS = 3000;
/** Enough starts for a few thousand rows; the draws are many. */
const RESTARTS = 2;

/**
 * Makes the zones again and again from squares of the field drawn with replacement, and tells how alike they are.
 *
 * Squares, not cells: neighbouring cells tell the same, so drawing cells would find any map stable.
 *
 * @param made - The zones whose stability is asked for.
 * @param draws - As in 50.
 * @param blockM - Side of a square, as in 50 m: beyond the reach of a combine's smear and of most noise.
 *
 * Randomness: `settings.seed`; where the grid of squares lies is drawn anew each time.
 */
export function zoneStability(
  grid: Grid,
  made: LabelledCells,
  settings: ZoneSettings,
  draws: number,
  blockM: number,
): Stability {
  const {matrix} = made;
  const cells = matrix.cells;
  const reference = labelsFromZero(made.labels, cells);
  const same = new Int32Array(cells.length);
  const index = new Float64Array(draws);
  for (let draw = 0; draw < draws; draw++) {
    const random = seededRandom(settings.seed, `zones/stability ${draw}`);
    const drawn = drawBlocks(squares(grid, cells, blockM, random), random);
    const {centres} = clusterCells(rowsOf(matrix, thinned(drawn, random)), {...settings, restarts: RESTARTS});
    const labels = labelsFromZero(labelByCentres(grid, matrix, centres, settings).labels, cells);
    index[draw] = adjustedRandIndex(reference, labels);
    const named = matchLabels(crossTable(reference, labels));
    for (let i = 0; i < cells.length; i++) {
      if (named[labels[i] as number] === reference[i]) same[i] = (same[i] as number) + 1;
    }
  }
  const [low, high] = quantiles(index, [0.05, 0.95]) as [number, number];
  const agreement = new Float64Array(cellCount(grid)).fill(Number.NaN);
  cells.forEach((cell, i) => {
    agreement[cell] = (same[i] as number) / draws;
  });
  return {draws, blockM, mean: index.reduce((sum, v) => sum + v, 0) / draws, low, high, agreement};
}

const labelsFromZero = (labels: Uint8Array, cells: Int32Array): Int32Array =>
  cells.map((cell) => (labels[cell] as number) - 1);

/** Rows of the matrix by the square of the field they are in, from a corner at random. */
function squares(grid: Grid, cells: Int32Array, blockM: number, random: Random): Int32Array[] {
  const side = Math.max(1, Math.round(blockM / grid.cellSize));
  const [right, down] = [random.integer(side), random.integer(side)];
  const across = Math.floor((grid.cols - 1 + right) / side) + 1;
  const rows = new Map<number, number[]>();
  cells.forEach((cell, i) => {
    const square =
      Math.floor((Math.floor(cell / grid.cols) + down) / side) * across +
      Math.floor(((cell % grid.cols) + right) / side);
    const inIt = rows.get(square);
    if (inIt) inIt.push(i);
    else rows.set(square, [i]);
  });
  return [...rows.values()].map((list) => Int32Array.from(list));
}

function thinned(rows: Int32Array, random: Random): Int32Array {
  const step = Math.max(1, Math.ceil(rows.length / MOST_ROWS));
  const start = random.integer(step);
  return rows.filter((_, i) => i % step === start);
}

function rowsOf(matrix: FeatureMatrix, rows: Int32Array): FeatureMatrix {
  const {dims, cells, values, present} = matrix;
  const picked = new Float64Array(rows.length * dims);
  rows.forEach((row, i) => {
    picked.set(values.subarray(row * dims, (row + 1) * dims), i * dims);
  });
  return {
    ...matrix,
    cells: rows.map((row) => cells[row] as number),
    values: picked,
    present: Float64Array.from(rows, (row) => present[row] as number),
  };
}
