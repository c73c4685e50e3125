import {distanceM, ringAreaM2} from "./measure.ts";
import type {Ring, XY} from "./shapes.ts";

/**
 * A straight line by its unit normal and its distance from the origin along it. The side with smaller distances is
 * called the near side.
 *
 * Shapes are plain lists of rings here (outer counter-clockwise, holes clockwise), because a clipped shape may touch
 * itself along the cut: right for measuring and for asking what is inside, not for drawing.
 */
export interface Line {
  readonly normal: XY;
  readonly offset: number;
}

export function normalAt(angle: number): XY {
  return {x: Math.cos(angle), y: Math.sin(angle)};
}

/** Distance of a point along the normal. */
export function along(normal: XY, p: XY): number {
  return normal.x * p.x + normal.y * p.y;
}

/**
 * The line across `normal` that leaves a given area on its near side, to 1e-12 of the whole.
 *
 * Newton steps on the exact area (its derivative is the length of the cut), kept inside a shrinking bracket.
 */
export function lineCuttingOff(rings: readonly Ring[], normal: XY, areaM2: number): Line {
  let low = Infinity;
  let high = -Infinity;
  for (const ring of rings) {
    for (const p of ring) {
      const t = along(normal, p);
      low = Math.min(low, t);
      high = Math.max(high, t);
    }
  }
  const whole = nearSide(rings, {normal, offset: high}).areaM2;
  let offset = low + ((high - low) * areaM2) / whole;
  for (let step = 0; step < 100; step++) {
    const cut = nearSide(rings, {normal, offset});
    const miss = cut.areaM2 - areaM2;
    if (Math.abs(miss) <= 1e-12 * whole) break;
    if (miss > 0) high = offset;
    else low = offset;
    const next = offset - miss / cut.lengthM;
    offset = next > low && next < high ? next : (low + high) / 2;
  }
  return {normal, offset};
}

/** Area on the near side of a line and length of the line inside the shape. */
export function nearSide(rings: readonly Ring[], line: Line): {areaM2: number; lengthM: number} {
  const {normal, offset} = line;
  const reference = rings[0]?.[0] ?? {x: 0, y: 0};
  let areaM2 = 0;
  let lengthM = 0;
  for (const ring of rings) {
    for (let i = 0; i + 1 < ring.length; i++) {
      const a = ring[i] as XY;
      const b = ring[i + 1] as XY;
      const ta = along(normal, a) - offset;
      const tb = along(normal, b) - offset;
      if (ta > 0 && tb > 0) continue;
      // Distances across, from a point of the shape so that small shapes far out lose no digits.
      const sa = normal.x * (a.y - reference.y) - normal.y * (a.x - reference.x);
      const sb = normal.x * (b.y - reference.y) - normal.y * (b.x - reference.x);
      if (ta > 0 !== tb > 0) {
        const s = sa + ((sb - sa) * ta) / (ta - tb);
        lengthM += ta > 0 ? s : -s;
        areaM2 += ta > 0 ? -((s + sb) / 2) * tb : ((sa + s) / 2) * ta;
      } else {
        areaM2 -= ((sa + sb) / 2) * (tb - ta);
      }
    }
  }
  return {areaM2, lengthM};
}

/**
 * The point of a shape at two shares from 0 to 1: two uniform random shares give a uniform random point.
 *
 * `u` of the area lies west of the point, and `v` of the shape's north-south chord through it lies south of it.
 */
export function pointAt(rings: readonly Ring[], u: number, v: number): XY {
  const whole = rings.reduce((sum, ring) => sum + ringAreaM2(ring), 0);
  const line = lineCuttingOff(rings, {x: 1, y: 0}, u * whole);
  const pieces = chords(rings, line);
  let left = v * pieces.reduce((sum, {from, to}) => sum + distanceM(from, to), 0);
  for (const {from, to} of pieces) {
    const length = distanceM(from, to);
    if (left <= length && length > 0) {
      return {x: from.x + ((to.x - from.x) * left) / length, y: from.y + ((to.y - from.y) * left) / length};
    }
    left -= length;
  }
  return pieces.at(-1)?.to ?? (rings[0]?.[0] as XY);
}

/** What of a shape lies on the near side (`side` 1) or on the far side (−1) of a line (Sutherland and Hodgman 1974). */
export function clip(rings: readonly Ring[], line: Line, side: 1 | -1): Ring[] {
  const clipped: Ring[] = [];
  for (const ring of rings) {
    const kept: XY[] = [];
    for (let i = 0; i + 1 < ring.length; i++) {
      const a = ring[i] as XY;
      const b = ring[i + 1] as XY;
      const ta = side * (along(line.normal, a) - line.offset);
      const tb = side * (along(line.normal, b) - line.offset);
      if (ta <= 0) kept.push(a);
      if (ta <= 0 !== tb <= 0) {
        const share = ta / (ta - tb);
        kept.push({x: a.x + share * (b.x - a.x), y: a.y + share * (b.y - a.y)});
      }
    }
    if (kept.length >= 3) clipped.push([...kept, kept[0] as XY]);
  }
  return clipped;
}

/** Where a line passes through a shape: pairs of points in and out, in order along the line. */
export function chords(rings: readonly Ring[], line: Line): {from: XY; to: XY}[] {
  const {normal, offset} = line;
  const crossings: {s: number; at: XY}[] = [];
  for (const ring of rings) {
    for (let i = 0; i + 1 < ring.length; i++) {
      const a = ring[i] as XY;
      const b = ring[i + 1] as XY;
      const ta = along(normal, a) - offset;
      const tb = along(normal, b) - offset;
      if (ta > 0 === tb > 0) continue;
      const share = ta / (ta - tb);
      const at = {x: a.x + share * (b.x - a.x), y: a.y + share * (b.y - a.y)};
      crossings.push({s: normal.x * at.y - normal.y * at.x, at});
    }
  }
  crossings.sort((p, q) => p.s - q.s);
  const pairs: {from: XY; to: XY}[] = [];
  for (let i = 0; i + 1 < crossings.length; i += 2) {
    pairs.push({from: (crossings[i] as {at: XY}).at, to: (crossings[i + 1] as {at: XY}).at});
  }
  return pairs;
}
