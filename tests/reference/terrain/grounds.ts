import {seededRandom} from "../../../src/stats/random.ts";

export interface Ground {
  readonly name: string;
  readonly cols: number;
  readonly cell: number;
  readonly heights: Float64Array;
}

/** Surfaces of every kind: smooth, rough with pits and no two equal neighbours, and with holes. */
export const GROUNDS: readonly Ground[] = [
  ground("rolling ground", 60, 60, 5, (x, y) => 12 + 3 * Math.sin(x / 37) + 2 * Math.cos(y / 23) + 0.01 * x),
  ground("rough ground", 90, 70, 2, (x, y, noise) => 6 + 2 * Math.sin(x / 40) + 0.02 * y + 0.15 * noise),
  holed(ground("ground with holes", 64, 64, 3, (x, y, noise) => 3 + 0.05 * x + Math.cos(y / 20) + 0.3 * noise)),
];

function ground(
  name: string,
  cols: number,
  rows: number,
  cell: number,
  z: (x: number, y: number, noise: number) => number,
): Ground {
  const random = seededRandom(7, name);
  const heights = Float64Array.from({length: cols * rows}, (_, i) =>
    z(((i % cols) + 0.5) * cell, (rows - Math.floor(i / cols) - 0.5) * cell, random.next() - 0.5),
  );
  return {name, cols, cell, heights};
}

function holed(whole: Ground): Ground {
  const heights = whole.heights.map((z, i) => {
    const [row, col] = [Math.floor(i / whole.cols), i % whole.cols];
    return Math.hypot(row - 20, col - 40) < 5 || (row > 50 && col < 9) ? Number.NaN : z;
  });
  return {...whole, heights};
}
