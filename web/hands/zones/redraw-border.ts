import type {Position} from "geojson";
import type {ZoneShape} from "./zone-shapes.ts";

/** Ground that changes hands when a border is drawn anew. */
export interface Moved {
  readonly polygon: Position[][];
  /** The zone that gets it. */
  readonly to: number;
}

type XY = readonly [number, number];
type Ring = readonly XY[];

/** Where a line meets a ring: how far along each, metres. */
interface Meeting {
  readonly along: number;
  readonly around: number;
}

/** Metres from the border within which a line's end counts as on it. */
const ON_BORDER_M = 12;
/** Ground under this is no more than the shake of a hand, m2; the pipeline makes no piece of it either. */
const CRUMB_M2 = 100;
/** Metres beside a border at which it is asked whose ground lies there. */
const BESIDE_M = 1.5;

/**
 * The ground between a zone's border and a line that shall be its border from where it leaves the old one to where it
 * meets it again. Outside the zone that ground comes to it; inside, it goes to the zone across the old border. What a line
 * has beyond its first and last meeting is left out.
 *
 * @returns A sentence where the line moves nothing.
 */
export function redrawBorder(zones: readonly ZoneShape[], zone: number, drawn: readonly Position[]): Moved[] | string {
  const own = zones.find((one) => one.zone === zone);
  const [lon0 = 0, lat0 = 0] = drawn[0] ?? [];
  if (!own) return `There is no zone ${zone} any more.`;
  const up = 111_320;
  const across = up * Math.cos((lat0 * Math.PI) / 180);
  const plane = ([lon = 0, lat = 0]: Position): XY => [(lon - lon0) * across, (lat - lat0) * up];
  const globe = ([x, y]: XY): Position => [lon0 + x / across, lat0 + y / up];
  const planes = new Map(
    zones.map(({zone: number, geometry}) => [
      number,
      geometry.coordinates.map((part) => part.map((ring) => ring.map(plane))),
    ]),
  );
  const parts = planes.get(zone) as XY[][][];
  const line = drawn.map(plane);
  const best = parts
    .flat()
    .map((ring) => ({ring, meetings: meetingsOf(line, ring)}))
    .filter(({meetings}) => meetings.length > 1)
    .sort((a, b) => (a.meetings[0] as Meeting).along - (b.meetings[0] as Meeting).along)[0];
  if (!best) return `The line does not leave the border of zone ${zone} and come back to it.`;
  const {ring, meetings} = best;
  const moved: Moved[] = [];
  let edge = false;
  meetings.slice(1).forEach((end, i) => {
    const start = meetings[i] as Meeting;
    const fresh = stretch(line, start.along, end.along);
    const [old, polygon] = [
      stretchAround(ring, start.around, end.around),
      stretchAround(ring, end.around, start.around),
    ]
      .map((side): [Ring, Ring] => [side, [...fresh, ...[...side].reverse()]])
      .map((pair) => [pair[0], pair[1], Math.abs(area(pair[1]))] as const)
      .reduce((a, b) => (b[2] < a[2] ? b : a));
    if (Math.abs(area(polygon)) < CRUMB_M2) return;
    const lost = within(middle(fresh), parts);
    const to = lost ? acrossFrom(old, zone, planes) : zone;
    if (to === undefined) edge = true;
    else moved.push({polygon: [[...polygon, polygon[0] as XY].map(globe)], to});
  });
  if (moved.length > 0) return moved;
  return edge
    ? "That border is the edge of the field: no zone lies across it to take the ground."
    : "The line follows the border: no ground moves.";
}

/** Where a line meets a ring, in the line's order: crossings, and ends that lie on it. */
function meetingsOf(line: Ring, ring: Ring): Meeting[] {
  const found: Meeting[] = [];
  for (const end of ["first", "last"] as const) {
    const at = (end === "first" ? line[0] : line.at(-1)) as XY;
    const {gap, around} = nearestOn(ring, at);
    if (gap <= ON_BORDER_M) found.push({along: end === "first" ? 0 : lengthOf(line), around});
  }
  let along = 0;
  for (let i = 1; i < line.length; i++) {
    const [a, b] = [line[i - 1] as XY, line[i] as XY];
    let around = 0;
    for (let j = 1; j < ring.length; j++) {
      const [c, d] = [ring[j - 1] as XY, ring[j] as XY];
      const crossing = crossingOf(a, b, c, d);
      if (crossing)
        found.push({along: along + crossing[0] * distance(a, b), around: around + crossing[1] * distance(c, d)});
      around += distance(c, d);
    }
    along += distance(a, b);
  }
  found.sort((a, b) => a.along - b.along);
  // An end that lies on the border is met as a crossing just beside it as well.
  return found.filter((one, i) => i === 0 || one.along - (found[i - 1] as Meeting).along > ON_BORDER_M / 4);
}

/** The part of a line between two distances along it. */
function stretch(line: Ring, from: number, to: number): XY[] {
  const points: XY[] = [pointAlong(line, from)];
  let along = 0;
  for (let i = 1; i < line.length; i++) {
    along += distance(line[i - 1] as XY, line[i] as XY);
    if (along > from && along < to) points.push(line[i] as XY);
  }
  return [...points, pointAlong(line, to)];
}

/** The part of a ring from one distance around it on to another, past its beginning if need be. */
function stretchAround(ring: Ring, from: number, to: number): XY[] {
  if (from <= to) return stretch(ring, from, to);
  return [...stretch(ring, from, lengthOf(ring)), ...stretch(ring, 0, to).slice(1)];
}

/** The zone that lies along most of a border on its other side. */
function acrossFrom(border: Ring, own: number, planes: ReadonlyMap<number, readonly XY[][][]>): number | undefined {
  const beside = new Map<number, number>();
  for (let i = 1; i < border.length; i++) {
    const [a, b] = [border[i - 1] as XY, border[i] as XY];
    const length = distance(a, b);
    if (length === 0) continue;
    const [nx, ny] = [((b[1] - a[1]) / length) * BESIDE_M, ((a[0] - b[0]) / length) * BESIDE_M];
    const [x, y] = middle([a, b]);
    for (const at of [
      [x + nx, y + ny],
      [x - nx, y - ny],
    ] as const) {
      for (const [zone, parts] of planes) {
        if (zone !== own && within(at, parts)) beside.set(zone, (beside.get(zone) ?? 0) + length);
      }
    }
  }
  return [...beside].sort(([, a], [, b]) => b - a)[0]?.[0];
}

function within([x, y]: XY, parts: readonly XY[][][]): boolean {
  let inside = false;
  for (const ring of parts.flat()) {
    for (let i = 0, j = ring.length - 1; i < ring.length; j = i++) {
      const [[ax, ay], [bx, by]] = [ring[i] as XY, ring[j] as XY];
      if (ay > y !== by > y && x < ((bx - ax) * (y - ay)) / (by - ay) + ax) inside = !inside;
    }
  }
  return inside;
}

function nearestOn(ring: Ring, [x, y]: XY): {gap: number; around: number} {
  let best = {gap: Infinity, around: 0};
  let around = 0;
  for (let i = 1; i < ring.length; i++) {
    const [[ax, ay], [bx, by]] = [ring[i - 1] as XY, ring[i] as XY];
    const [dx, dy] = [bx - ax, by - ay];
    const length = Math.hypot(dx, dy);
    const t = length === 0 ? 0 : Math.max(0, Math.min(1, ((x - ax) * dx + (y - ay) * dy) / (length * length)));
    const gap = Math.hypot(ax + t * dx - x, ay + t * dy - y);
    if (gap < best.gap) best = {gap, around: around + t * length};
    around += length;
  }
  return best;
}

/** Shares of the way along each where two stretches cross. */
function crossingOf([ax, ay]: XY, [bx, by]: XY, [cx, cy]: XY, [dx, dy]: XY): [number, number] | undefined {
  const across = (bx - ax) * (dy - cy) - (by - ay) * (dx - cx);
  if (across === 0) return undefined;
  const t = ((cx - ax) * (dy - cy) - (cy - ay) * (dx - cx)) / across;
  const u = ((cx - ax) * (by - ay) - (cy - ay) * (bx - ax)) / across;
  return t >= 0 && t <= 1 && u >= 0 && u < 1 ? [t, u] : undefined;
}

function pointAlong(line: Ring, length: number): XY {
  let left = length;
  for (let i = 1; i < line.length; i++) {
    const [a, b] = [line[i - 1] as XY, line[i] as XY];
    const here = distance(a, b);
    if (left <= here && here > 0) return [a[0] + (left / here) * (b[0] - a[0]), a[1] + (left / here) * (b[1] - a[1])];
    left -= here;
  }
  return line.at(-1) as XY;
}

function area(ring: Ring): number {
  let twice = 0;
  for (let i = 0, j = ring.length - 1; i < ring.length; j = i++) {
    const [[ax, ay], [bx, by]] = [ring[j] as XY, ring[i] as XY];
    twice += ax * by - bx * ay;
  }
  return twice / 2;
}

const distance = ([ax, ay]: XY, [bx, by]: XY): number => Math.hypot(bx - ax, by - ay);
const lengthOf = (line: Ring): number => line.slice(1).reduce((sum, to, i) => sum + distance(line[i] as XY, to), 0);
const middle = (line: Ring): XY => pointAlong(line, lengthOf(line) / 2);
