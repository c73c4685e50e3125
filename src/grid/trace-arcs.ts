import type {XY} from "../geo/shapes.ts";
import type {Grid} from "./grid.ts";

/** A line between two labels, from one meeting of labels to the next; or a ring around an island. */
export interface Arc {
  /** Metres in the grid's frame; a ring repeats its first point. */
  readonly points: readonly XY[];
  readonly closed: boolean;
}

/** Where between the centres of two cells their border runs: 0 at the first, 1 at the second. Asked twice, it answers alike. */
export type BorderBetween = (first: number, second: number) => number;

/** A border keeps this far from the centres, so that lines never meet in one. */
const LEAST_SHARE = 0.1;

/**
 * The lines between the labels of a grid, each once.
 *
 * A line crosses the straight way between every two neighbouring centres of different label, so it has no stairs
 * where `borderBetween` knows better than "half-way". Lines meet only where three labels do, where two meet like a
 * chessboard, or at the grid's edge; otherwise they never touch, because each piece stays in the square between four
 * centres.
 *
 * @param labels - Any; 0 is a label like others.
 * @param borderBetween - Given the cell on the north or west and the one on the south or east. Default half-way.
 * @returns Arcs with ends first, in order of their first end from the north-west, then rings.
 */
export function traceArcs(grid: Grid, labels: Uint8Array, borderBetween: BorderBetween = () => 0.5): Arc[] {
  const {cols, rows, cellSize: size} = grid;
  // Ways a border leaves a corner by, as bits: a border side has different labels left and right.
  const waysFrom = (row: number, col: number): number => {
    const southeast = row * cols + col;
    const northeast = southeast - cols;
    let ways = 0;
    if (row > 0 && row < rows) {
      if (col < cols && labels[northeast] !== labels[southeast]) ways |= 1 << EAST;
      if (col > 0 && labels[northeast - 1] !== labels[southeast - 1]) ways |= 1 << WEST;
    }
    if (col > 0 && col < cols) {
      if (row < rows && labels[southeast - 1] !== labels[southeast]) ways |= 1 << SOUTH;
      if (row > 0 && labels[northeast - 1] !== labels[northeast]) ways |= 1 << NORTH;
    }
    return ways;
  };

  const sidePoint = (row: number, col: number, way: number): XY => {
    const r = way === NORTH ? row - 1 : row;
    const c = way === WEST ? col - 1 : col;
    const flat = way === EAST || way === WEST;
    const second = r * cols + c;
    const first = flat ? second - cols : second - 1;
    const share = Math.max(LEAST_SHARE, Math.min(1 - LEAST_SHARE, borderBetween(first, second)));
    return flat
      ? {x: grid.west + (c + 0.5) * size, y: grid.north - (r - 0.5 + share) * size}
      : {x: grid.west + (c - 0.5 + share) * size, y: grid.north - (r + 0.5) * size};
  };
  /** A meeting of lines lies amid the points they come from; an end at the grid's edge straight out from its own. */
  const nodePoint = (row: number, col: number, ways: number): XY => {
    const around = WAYS.filter((way) => ways & (1 << way)).map((way) => sidePoint(row, col, way));
    if (around.length === 1) {
      const [end] = around as [XY];
      return row === 0 || row === rows ? {x: end.x, y: grid.north - row * size} : {x: grid.west + col * size, y: end.y};
    }
    return {
      x: around.reduce((sum, p) => sum + p.x, 0) / around.length,
      y: around.reduce((sum, p) => sum + p.y, 0) / around.length,
    };
  };

  const walked = new Uint8Array((rows + 1) * (cols + 1) * 2);
  const sideIndex = (row: number, col: number, way: number): number => {
    const r = way === NORTH ? row - 1 : row;
    const c = way === WEST ? col - 1 : col;
    return (r * (cols + 1) + c) * 2 + (way === EAST || way === WEST ? 0 : 1);
  };
  const walk = (startRow: number, startCol: number, startWay: number): Arc => {
    let row = startRow;
    let col = startCol;
    let way = startWay;
    let ways = waysFrom(row, col);
    const closed = BITS[ways] === 2;
    const points: XY[] = closed ? [] : [nodePoint(row, col, ways)];
    for (;;) {
      walked[sideIndex(row, col, way)] = 1;
      points.push(sidePoint(row, col, way));
      row += way === SOUTH ? 1 : way === NORTH ? -1 : 0;
      col += way === EAST ? 1 : way === WEST ? -1 : 0;
      ways = waysFrom(row, col);
      if (BITS[ways] !== 2) {
        points.push(nodePoint(row, col, ways));
        return {points, closed: false};
      }
      if (closed && row === startRow && col === startCol) return {points: [...points, points[0] as XY], closed: true};
      // On by the one that does not lead back.
      way = 31 - Math.clz32(ways & ~(1 << ((way + 2) % 4)));
    }
  };

  const arcs: Arc[] = [];
  const corners = borderCorners(grid, labels);
  const walkFrom = (isStart: (count: number) => boolean): void => {
    for (const corner of corners) {
      const row = Math.floor(corner / (cols + 1));
      const col = corner % (cols + 1);
      const ways = waysFrom(row, col);
      if (!isStart(BITS[ways] as number)) continue;
      for (const way of WAYS) {
        if (ways & (1 << way) && !walked[sideIndex(row, col, way)]) arcs.push(walk(row, col, way));
      }
    }
  };
  walkFrom((count) => count === 1 || count > 2);
  walkFrom((count) => count === 2);
  return arcs;
}

/** Corners around which not all cells have one label, row by row: few of all there are. */
function borderCorners({cols, rows}: Grid, labels: Uint8Array): number[] {
  const out: number[] = [];
  for (let row = 0; row <= rows; row++) {
    const north = Math.max(0, row - 1) * cols;
    const south = Math.min(rows - 1, row) * cols;
    let northwest = labels[north];
    let southwest = labels[south];
    for (let col = 0; col <= cols; col++) {
      const east = Math.min(cols - 1, col);
      const northeast = labels[north + east];
      const southeast = labels[south + east];
      if (northeast !== northwest || southwest !== northwest || southeast !== northwest)
        out.push(row * (cols + 1) + col);
      northwest = northeast;
      southwest = southeast;
    }
  }
  return out;
}

const EAST = 0;
const SOUTH = 1;
const WEST = 2;
const NORTH = 3;
const WAYS = [EAST, SOUTH, WEST, NORTH] as const;
/** How many ways a set of them holds. */
const BITS = Uint8Array.from({length: 16}, (_, ways) => WAYS.filter((way) => ways & (1 << way)).length);
