import {NODE_GRID_M} from "./geos.ts";
import {GridPoints} from "./grid-points.ts";
import {edgeNumber} from "./point-numbers.ts";
import {indexSegments} from "./segment-pairs.ts";
import type {XY} from "./shapes.ts";

/** A piece of line from node to node that nothing touches in between. */
export interface Chain {
  /** Numbers of the nodes at its ends. */
  readonly from: number;
  readonly to: number;
  /** On the node grid; chains that meet share the point itself. */
  readonly points: readonly XY[];
  /** Numbers of the lines that run along it. */
  readonly lines: readonly number[];
}

/**
 * Lines cut where they meet, as `facesBetween` cuts them, but only where that is plain to see: corners lie on the node
 * grid, crossings become corners of both lines, and a corner that lies on another line becomes a corner of that line.
 *
 * Snap rounding as GEOS does it (Hobby 1999, Comput. Geom. 13: 199–214), of which it takes the plain cases.
 *
 * @returns In the order of the lines, each chain once; undefined when anything is too close to call.
 */
export function nodeLines(lines: readonly (readonly XY[])[]): Chain[] | undefined {
  const drawn = flatten(lines);
  const cuts = drawn && findCuts(drawn);
  return cuts && chainsOf(drawn, cuts);
}

/** In steps of the node grid: what comes this near a line must plainly lie on it. */
const NEAR = 2;
/** In steps of the node grid: what lies on a line must keep this far from its ends. */
const END = 3;
/** Positions in a field's own frame are computed at least this well, metres. */
const ROUNDING_M = 4e-12;

/** All points of all lines in a row. */
interface Drawn {
  readonly x: Float64Array;
  readonly y: Float64Array;
  /** Number of the grid point that each point is rounded to. */
  readonly node: Int32Array;
  /** Where lines end, as indexes one past their last point. */
  readonly ends: readonly number[];
  readonly grid: GridPoints;
}

function flatten(lines: readonly (readonly XY[])[]): Drawn | undefined {
  const total = lines.reduce((sum, line) => sum + line.length, 0);
  const [x, y, node] = [new Float64Array(total), new Float64Array(total), new Int32Array(total)];
  const grid = new GridPoints(NODE_GRID_M, total);
  const ends: number[] = [];
  let at = 0;
  for (const line of lines) {
    const start = at;
    for (const p of line) {
      if (at > start && x[at - 1] === p.x && y[at - 1] === p.y) continue;
      const number = grid.use(p.x, p.y);
      if (at > start && node[at - 1] === number) return undefined;
      x[at] = p.x;
      y[at] = p.y;
      node[at++] = number;
    }
    if (at - start < 2) return undefined;
    ends.push(at);
  }
  return {x: x.subarray(0, at), y: y.subarray(0, at), node: node.subarray(0, at), ends, grid};
}

/** A corner to be put into a piece of line. */
interface Cut {
  readonly segment: number;
  readonly node: number;
}

function findCuts(drawn: Drawn): Cut[] | undefined {
  const {x, y, node, grid} = drawn;
  const first: number[] = [];
  let start = 0;
  for (const end of drawn.ends) {
    for (let i = start; i + 1 < end; i++) first.push(i);
    start = end;
  }
  const index = indexSegments({x, y, first: Int32Array.from(first)});
  const cuts: Cut[] = [];
  const seen = new Set<number>();
  const cut = (segment: number, number: number): void => {
    const key = edgeNumber(segment, number);
    if (!seen.has(key)) cuts.push({segment, node: number});
    seen.add(key);
    grid.makeNode(number);
  };

  const meet = (s: number, t: number): boolean => {
    const a = node[s];
    const b = node[s + 1];
    const c = node[t];
    const d = node[t + 1];
    if (a !== c && a !== d && b !== c && b !== d) return apart(s, t);
    // Ends at one place of the grid must be one place before rounding too.
    if ((a === c && b === d) || (a === d && b === c)) {
      return a === c ? alike(s, t) && alike(s + 1, t + 1) : alike(s, t + 1) && alike(s + 1, t);
    }
    return fork(s, a === c || a === d ? s : s + 1, t, a === c || b === c ? t : t + 1);
  };
  const alike = (i: number, j: number): boolean => x[i] === x[j] && y[i] === y[j];
  /** Pieces that share an end: `i` of one is `j` of the other. */
  const fork = (s: number, i: number, t: number, j: number): boolean => {
    if (!alike(i, j)) return false;
    const p = 2 * s + 1 - i;
    const q = 2 * t + 1 - j;
    const x0 = x[i] as number;
    const y0 = y[i] as number;
    const turn = ((x[p] as number) - x0) * ((x[q] as number) - x0) + ((y[p] as number) - y0) * ((y[q] as number) - y0);
    if (turn < 0) return true;
    const onS = lies(q, s);
    const onT = lies(p, t);
    if (onS === DOUBT || onT === DOUBT || (onS === ON && onT === ON)) return false;
    if (onS === ON) cut(s, node[q] as number);
    if (onT === ON) cut(t, node[p] as number);
    return true;
  };
  const lies = (i: number, segment: number): number => liesOn(drawn, i, segment);
  /** Which ends of one piece lie on another. */
  const touches = (short: number, long: number): number => {
    const [first, last] = [lies(short, long), lies(short + 1, long)];
    return first === DOUBT || last === DOUBT ? DOUBT : first + 2 * last;
  };

  const apart = (s: number, t: number): boolean => {
    const [onS, onT] = [touches(t, s), touches(s, t)];
    if (onS === DOUBT || onT === DOUBT || (onS !== OFF && onT !== OFF)) return false;
    if (onS === OFF && onT === OFF) return cross(s, t);
    const [long, short, on] = onT === OFF ? [s, t, onS] : [t, s, onT];
    if (on === BOTH) {
      cut(long, node[short] as number);
      cut(long, node[short + 1] as number);
      return crossAlong(long, short);
    }
    const [p, q] = [sideOf(drawn, long, short), sideOf(drawn, long, short + 1)];
    const touching = on === FIRST ? short : short + 1;
    const [near, far] = touching === short ? [p, q] : [q, p];
    if (near * far <= 0 || Math.abs(near) < ROUNDING_M) {
      // The line itself is crossed beside the corner: surely within the same step of the grid?
      const length = Math.hypot(
        (x[short + 1] as number) - (x[short] as number),
        (y[short + 1] as number) - (y[short] as number),
      );
      const beside = ((Math.abs(near) + ROUNDING_M) * length) / Math.abs(far - near);
      if (!grid.surelyRounds(x[touching] as number, y[touching] as number, beside)) return false;
    }
    cut(long, node[touching] as number);
    return true;
  };

  const cross = (s: number, t: number): boolean => {
    const c = sideOf(drawn, s, t);
    const d = sideOf(drawn, s, t + 1);
    if (sameSide(c, d)) return true;
    const a = sideOf(drawn, t, s);
    const b = sideOf(drawn, t, s + 1);
    if (sameSide(a, b)) return true;
    if (!sameSide(c, -d) || !sameSide(a, -b)) return false;
    // Sine of the angle they cross at: the flatter, the less sure the place.
    const sine =
      Math.abs(c - d) / Math.hypot((x[t + 1] as number) - (x[t] as number), (y[t + 1] as number) - (y[t] as number));
    return crossAt(s, t, c / (c - d), ROUNDING_M / sine);
  };
  /** Pieces that run along each other cross when rounding has put the ends of one on either side of the other. */
  const crossAlong = (long: number, short: number): boolean => {
    const [c, d] = [exactSide(drawn, long, short), exactSide(drawn, long, short + 1)];
    if (c === undefined || d === undefined) return false;
    if (c === 0n || d === 0n || c > 0n === d > 0n) return true;
    return crossAt(long, short, Number((c * 2n ** 64n) / (c - d)) / 2 ** 64, ROUNDING_M);
  };
  const crossAt = (s: number, t: number, share: number, errorM: number): boolean => {
    const px = (x[t] as number) + share * ((x[t + 1] as number) - (x[t] as number));
    const py = (y[t] as number) + share * ((y[t + 1] as number) - (y[t] as number));
    if (cuts.length > 4 * x.length || !grid.surelyRounds(px, py, errorM)) return false;
    const before = grid.size;
    const number = grid.use(px, py);
    if (grid.size === before && !seen.has(edgeNumber(s, number))) return false;
    for (const other of index.near(px, py)) {
      if (other !== s && other !== t && nearness(drawn, px, py, other) < 2 * END) return false;
    }
    cut(s, number);
    cut(t, number);
    return true;
  };

  return index.everyPair(meet) ? cuts : undefined;
}

const OFF = 0;
const ON = 1;
const DOUBT = 4;
/** Of the ends of a piece. */
const FIRST = 1;
const BOTH = 3;

/** Whether a point's place on the node grid lies on a piece of line, plainly and away from its ends. */
function liesOn({x, y, node, grid}: Drawn, i: number, segment: number): number {
  const x0 = x[segment] as number;
  const y0 = y[segment] as number;
  const dx = (x[segment + 1] as number) - x0;
  const dy = (y[segment + 1] as number) - y0;
  const {x: px, y: py} = grid.points[node[i] as number] as XY;
  // In steps of the grid, by the square around the place: under a half the piece runs through it.
  const off = Math.abs(dx * (py - y0) - dy * (px - x0)) / (NODE_GRID_M * (Math.abs(dx) + Math.abs(dy)));
  if (off > NEAR) return OFF;
  const length = Math.sqrt(dx * dx + dy * dy);
  const along = (dx * (px - x0) + dy * (py - y0)) / length;
  const end = END * NODE_GRID_M;
  if (along < -end || along > length + end) return OFF;
  return along > end && along < length - end && off < 0.5 - 1e-3 ? ON : DOUBT;
}

/** How far a point is to the left of a piece of line drawn on, metres. */
function sideOf({x, y}: Drawn, segment: number, i: number): number {
  const x0 = x[segment] as number;
  const y0 = y[segment] as number;
  const dx = (x[segment + 1] as number) - x0;
  const dy = (y[segment + 1] as number) - y0;
  return (dx * ((y[i] as number) - y0) - dy * ((x[i] as number) - x0)) / Math.sqrt(dx * dx + dy * dy);
}

/** Whether distances to the left of a line are plainly of one sign. */
function sameSide(p: number, q: number): boolean {
  return p > ROUNDING_M ? q > ROUNDING_M : p < -ROUNDING_M && q < -ROUNDING_M;
}

/** Twice the area of the triangle on a piece of line, exact, in a unit of its own; positive on the left. */
function exactSide({x, y}: Drawn, segment: number, i: number): bigint | undefined {
  const numbers = [x[segment], y[segment], x[segment + 1], y[segment + 1], x[i], y[i]] as number[];
  // Down to 2⁻⁴⁸ m all digits of a number are above 2⁻¹⁰⁰ m.
  if (numbers.some((v) => v !== 0 && Math.abs(v) < 2 ** -48)) return undefined;
  const [ax, ay, bx, by, px, py] = numbers.map((v) => BigInt(v * 2 ** 100)) as [
    bigint,
    bigint,
    bigint,
    bigint,
    bigint,
    bigint,
  ];
  return (bx - ax) * (py - ay) - (by - ay) * (px - ax);
}

/** Distance of a point from a piece of line, in steps of the node grid. */
function nearness({x, y}: Drawn, px: number, py: number, segment: number): number {
  const [x0, y0] = [x[segment] as number, y[segment] as number];
  const [dx, dy] = [(x[segment + 1] as number) - x0, (y[segment + 1] as number) - y0];
  const share = Math.max(0, Math.min(1, (dx * (px - x0) + dy * (py - y0)) / (dx * dx + dy * dy)));
  return Math.hypot(px - x0 - share * dx, py - y0 - share * dy) / NODE_GRID_M;
}

/** Lines broken at nodes; of chains that run over one another the first stays. */
function chainsOf({x, y, node, ends, grid}: Drawn, cuts: readonly Cut[]): Chain[] | undefined {
  const bySegment = new Map<number, Cut[]>();
  for (const cut of cuts) {
    const own = bySegment.get(cut.segment);
    if (own) own.push(cut);
    else bySegment.set(cut.segment, [cut]);
  }
  const chains: {from: number; to: number; points: XY[]; lines: number[]}[] = [];
  const byStart = new Map<number, number>();
  let doubt = false;
  let open: number[] = [];
  const add = (number: number, last: boolean, line: number): void => {
    open.push(number);
    if (open.length === 1 || !(last || grid.isNode(number))) return;
    const [from, second, beforeLast] = [open[0], open[1], open.at(-2)] as [number, number, number];
    const known = byStart.get(edgeNumber(from, second));
    if (known === undefined) {
      byStart.set(edgeNumber(from, second), chains.length);
      byStart.set(edgeNumber(number, beforeLast), chains.length);
      chains.push({from, to: number, points: open.map((p) => grid.points[p] as XY), lines: [line]});
    } else {
      const {points, lines} = chains[known] as Chain & {lines: number[]};
      if (points.length !== open.length) doubt = true;
      lines.push(line);
    }
    open = [number];
  };
  let start = 0;
  ends.forEach((end, line) => {
    open = [];
    for (let i = start; i < end; i++) {
      add(node[i] as number, i + 1 === end, line);
      const [x0, y0] = [x[i] as number, y[i] as number];
      const own = i + 1 < end ? bySegment.get(i) : undefined;
      if (!own) continue;
      const far = (cut: Cut): number => {
        const p = grid.points[cut.node] as XY;
        return Math.hypot(p.x - x0, p.y - y0);
      };
      for (const cut of own.sort((p, q) => far(p) - far(q))) add(cut.node, false, line);
    }
    start = end;
  });
  return doubt ? undefined : chains;
}
