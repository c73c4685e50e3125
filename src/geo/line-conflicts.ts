import type {XY} from "./shapes.ts";

/**
 * Which lines cross, touch or run over another one or themselves. Meeting in a common vertex is no conflict.
 *
 * @param cellM - Size of the search grid, metres: about the length of the longer pieces of line.
 * @returns Ascending indexes into `lines`.
 */
export function conflictingLines(lines: readonly (readonly XY[])[], cellM: number): number[] {
  const pieces: Piece[] = lines.flatMap((line, owner) => line.slice(1).map((b, i) => ({a: line[i] as XY, b, owner})));
  const buckets = new Map<number, Piece[]>();
  const bad = new Set<number>();
  for (const piece of pieces) {
    const {a, b} = piece;
    const east = Math.floor(Math.max(a.x, b.x) / cellM);
    const north = Math.floor(Math.max(a.y, b.y) / cellM);
    for (let x = Math.floor(Math.min(a.x, b.x) / cellM); x <= east; x++) {
      for (let y = Math.floor(Math.min(a.y, b.y) / cellM); y <= north; y++) {
        const key = x * 2 ** 26 + y;
        const bucket = buckets.get(key);
        if (!bucket) {
          buckets.set(key, [piece]);
          continue;
        }
        for (const other of bucket) {
          if (bad.has(piece.owner) && bad.has(other.owner)) continue;
          if (conflict(piece, other)) bad.add(piece.owner).add(other.owner);
        }
        bucket.push(piece);
      }
    }
  }
  return [...bad].sort((p, q) => p - q);
}

interface Piece {
  readonly a: XY;
  readonly b: XY;
  readonly owner: number;
}

const same = (p: XY, q: XY): boolean => p.x === q.x && p.y === q.y;
const side = (a: XY, b: XY, p: XY): number => (b.x - a.x) * (p.y - a.y) - (p.x - a.x) * (b.y - a.y);

function conflict(s: Piece, t: Piece): boolean {
  if (same(s.a, t.a)) return leaveAlike(s.a, s.b, t.b);
  if (same(s.a, t.b)) return leaveAlike(s.a, s.b, t.a);
  if (same(s.b, t.a)) return leaveAlike(s.b, s.a, t.b);
  if (same(s.b, t.b)) return leaveAlike(s.b, s.a, t.a);
  const [sa, sb] = [side(s.a, s.b, t.a), side(s.a, s.b, t.b)];
  const [ta, tb] = [side(t.a, t.b, s.a), side(t.a, t.b, s.b)];
  if (sa === 0 && sb === 0) return overlap(s.a.x, s.b.x, t.a.x, t.b.x) && overlap(s.a.y, s.b.y, t.a.y, t.b.y);
  return sa * sb <= 0 && ta * tb <= 0;
}

/** Pieces with a common end are in conflict only when both leave it in one direction. */
function leaveAlike(end: XY, p: XY, q: XY): boolean {
  return side(end, p, q) === 0 && (p.x - end.x) * (q.x - end.x) + (p.y - end.y) * (q.y - end.y) > 0;
}

function overlap(a: number, b: number, c: number, d: number): boolean {
  return Math.max(a, b) >= Math.min(c, d) && Math.max(c, d) >= Math.min(a, b);
}
