import {indexSegments} from "./segment-pairs.ts";
import type {XY} from "./shapes.ts";

/**
 * Which lines cross, touch or run over another one or themselves. Meeting in a common vertex is no conflict.
 *
 * @returns Ascending indexes into `lines`.
 */
export function conflictingLines(lines: readonly (readonly XY[])[]): number[] {
  const total = lines.reduce((sum, line) => sum + line.length, 0);
  const x = new Float64Array(total);
  const y = new Float64Array(total);
  const owner = new Int32Array(total);
  const first = new Int32Array(total - lines.filter(({length}) => length > 0).length);
  let point = 0;
  let piece = 0;
  lines.forEach((line, number) => {
    for (let i = 0; i < line.length; i++) {
      x[point] = (line[i] as XY).x;
      y[point] = (line[i] as XY).y;
      owner[point] = number;
      if (i + 1 < line.length) first[piece++] = point;
      point++;
    }
  });
  const bad = new Uint8Array(lines.length);
  indexSegments({x, y, first}).everyPair((s, t) => {
    const p = owner[s] as number;
    const q = owner[t] as number;
    if (!(bad[p] && bad[q]) && conflict(x, y, s, t)) {
      bad[p] = 1;
      bad[q] = 1;
    }
    return true;
  });
  return [...bad.keys()].filter((line) => bad[line]);
}

/** Whether two pieces do more than meet in a common end. */
function conflict(x: Float64Array, y: Float64Array, s: number, t: number): boolean {
  if (same(x, y, s, t)) return leaveAlike(x, y, s, s + 1, t + 1);
  if (same(x, y, s, t + 1)) return leaveAlike(x, y, s, s + 1, t);
  if (same(x, y, s + 1, t)) return leaveAlike(x, y, s + 1, s, t + 1);
  if (same(x, y, s + 1, t + 1)) return leaveAlike(x, y, s + 1, s, t);
  const sa = side(x, y, s, s + 1, t);
  const sb = side(x, y, s, s + 1, t + 1);
  if (sa === 0 && sb === 0) return overlap(x, s, t) && overlap(y, s, t);
  return sa * sb <= 0 && side(x, y, t, t + 1, s) * side(x, y, t, t + 1, s + 1) <= 0;
}

function same(x: Float64Array, y: Float64Array, i: number, j: number): boolean {
  return x[i] === x[j] && y[i] === y[j];
}

function side(x: Float64Array, y: Float64Array, a: number, b: number, p: number): number {
  const ax = x[a] as number;
  const ay = y[a] as number;
  return ((x[b] as number) - ax) * ((y[p] as number) - ay) - ((x[p] as number) - ax) * ((y[b] as number) - ay);
}

/** Pieces with a common end are in conflict only when both leave it in one direction. */
function leaveAlike(x: Float64Array, y: Float64Array, end: number, p: number, q: number): boolean {
  if (side(x, y, end, p, q) !== 0) return false;
  return along(x, end, p, q) + along(y, end, p, q) > 0;
}

function along(v: Float64Array, end: number, p: number, q: number): number {
  return ((v[p] as number) - (v[end] as number)) * ((v[q] as number) - (v[end] as number));
}

function overlap(v: Float64Array, s: number, t: number): boolean {
  const [a, b, c, d] = [v[s], v[s + 1], v[t], v[t + 1]] as [number, number, number, number];
  return Math.max(a, b) >= Math.min(c, d) && Math.max(c, d) >= Math.min(a, b);
}
