import {along, chords, clip, type Line, lineCuttingOff, normalAt} from "./half-plane.ts";
import {boxOf} from "./measure.ts";
import {mergeSmallFaces} from "./merge-faces.ts";
import {dissolve, partition} from "./partition.ts";
import type {MultiPolygon, Ring, XY} from "./shapes.ts";

/** A shape divided by straight cuts into compact parts of equal area. */
export interface EqualParts {
  /** Rings of each part, for measuring and drawing random points; they may touch themselves along a cut. */
  readonly parts: readonly (readonly Ring[])[];
  /** The cuts, each a little longer than needed so that it surely meets the line it ends on. */
  readonly cuts: readonly (readonly XY[])[];
  /** Index of the part on whose side of the cuts a point lies. */
  partAt(p: XY): number;
}

/**
 * Divides a shape into `count` compact parts of equal area, each to 1e-9 of a part.
 *
 * A cut runs straight across the shape and leaves on either side the area of a whole number of parts; then each side
 * is cut again. Of the possible cuts (along and across `angle`, and slanting where that is clearly better, at any
 * whole number of parts) the one is taken after which the parts can be most compact. A part of a deeply notched shape
 * may come out in pieces. No randomness: equal cuts are taken in order of angle, then of the smaller side.
 *
 * Compact means a small mean squared distance to the part's own centre, the measure of spatial coverage sampling
 * (Brus, Spätjens and de Gruijter 1999, Geoderma 89: 129–148; Walvoort, Brus and de Gruijter 2010, Computers &
 * Geosciences 36: 1261–1267). Those papers swap raster cells between clusters; straight cuts give the same areas
 * exactly and borders a person can walk.
 *
 * @param angle - Direction the shape runs in, radians counter-clockwise from east.
 */
export function equalParts(shape: MultiPolygon, count: number, angle: number): EqualParts {
  const {west, south, east, north} = boxOf(shape);
  const [w, s, e, n] = [west - 1, south - 1, east + 1, north + 1];
  const around: Ring = [
    {x: w, y: s},
    {x: e, y: s},
    {x: e, y: n},
    {x: w, y: n},
    {x: w, y: s},
  ];
  const parts: (readonly Ring[])[] = [];
  const cuts: XY[][] = [];

  const divide = (rings: readonly Ring[], room: readonly Ring[], n: number): Node => {
    if (n === 1) return {part: parts.push(rings) - 1};
    const {line, near} = bestCut(rings, n, angle);
    cuts.push(...chords(room, line).map(lengthen));
    return {
      line,
      near: divide(clip(rings, line, 1), clip(room, line, 1), near),
      far: divide(clip(rings, line, -1), clip(room, line, -1), n - near),
    };
  };
  const tree = divide(shape.flat(), [around], count);

  const partAt = (p: XY): number => {
    let node = tree;
    while ("line" in node) node = along(node.line.normal, p) <= node.line.offset ? node.near : node.far;
    return node.part;
  };
  return {parts, cuts, partAt};
}

/**
 * The same as shapes: valid, together an exact coverage of the whole, neighbours matched vertex by vertex.
 *
 * @returns `count` shapes, each of the whole's area over `count` to 1e-6 of that.
 */
export function equalAreaShapes(whole: MultiPolygon, count: number, angle: number): MultiPolygon[] {
  if (count === 1) return [whole];
  const {cuts, partAt} = equalParts(whole, count, angle);
  const division = partition(whole, cuts);
  // Where lines meet in one point, rounding may leave faces thinner than a hair: they go with a neighbour.
  const {leader} = mergeSmallFaces(division, HAIR_M2);
  const labels = leader.map((face) => partAt(division.inside[face] as XY));
  return dissolve(division, labels).map((part) => part.shape);
}

/** Far under 1e-6 of any part, far over the area of a face made by rounding. */
export const HAIR_M2 = 1e-4;

// --- inside ---------------------------------------------------------------------------------------------------

type Node = {readonly part: number} | {readonly line: Line; readonly near: Node; readonly far: Node};

/** Slanting cuts look arbitrary on a map, so they must be better by this much. */
const SLANT_MUST_SAVE = 0.1;
const TURNS = [0, 90, 45, 135, 22.5, 67.5, 112.5, 157.5];

interface Cut {
  readonly line: Line;
  /** How many parts the near side is to be divided into. */
  readonly near: number;
}

function bestCut(rings: readonly Ring[], count: number, angle: number): Cut {
  const whole = spreadOf(rings, {x: 1, y: 0}).areaM2;
  let best: Cut | undefined;
  let least = Infinity;
  TURNS.forEach((turn, i) => {
    const normal = normalAt(angle + (turn * Math.PI) / 180);
    const handicap = i < 2 ? 1 : 1 / (1 - SLANT_MUST_SAVE);
    for (let near = 1; near < count; near++) {
      const line = lineCuttingOff(rings, normal, (whole * near) / count);
      const cost =
        outlook(spreadOf(clip(rings, line, 1), normal), near) +
        outlook(spreadOf(clip(rings, line, -1), normal), count - near);
      // Rounding must not choose between cuts that mirror each other.
      if (cost * handicap < least * (1 - 1e-9)) {
        least = cost * handicap;
        best = {line, near};
      }
    }
  });
  if (!best) throw new Error("a shape with area has a cut");
  return best;
}

interface Spread {
  readonly areaM2: number;
  /** Sides of the rectangle with the same second moments: how far the shape reaches along and across. */
  readonly reach: number;
  readonly breadth: number;
}

/** Area and second moments of a shape along a normal and across it, from the moments of its rings. */
function spreadOf(rings: readonly Ring[], normal: XY): Spread {
  const origin = rings[0]?.[0] ?? {x: 0, y: 0};
  let area = 0;
  let t = 0;
  let s = 0;
  let tt = 0;
  let ss = 0;
  for (const ring of rings) {
    let tp = 0;
    let sp = 0;
    ring.forEach((p, i) => {
      const dx = p.x - origin.x;
      const dy = p.y - origin.y;
      const tq = normal.x * dx + normal.y * dy;
      const sq = normal.x * dy - normal.y * dx;
      if (i > 0) {
        const cross = tp * sq - tq * sp;
        area += cross / 2;
        t += (cross * (tp + tq)) / 6;
        s += (cross * (sp + sq)) / 6;
        tt += (cross * (tp * tp + tp * tq + tq * tq)) / 12;
        ss += (cross * (sp * sp + sp * sq + sq * sq)) / 12;
      }
      tp = tq;
      sp = sq;
    });
  }
  if (!(area > 0)) return {areaM2: 0, reach: 0, breadth: 0};
  const side = (second: number, first: number): number =>
    Math.sqrt(Math.max(0, 12 * (second / area - (first / area) ** 2)));
  return {areaM2: area, reach: side(tt, t), breadth: side(ss, s)};
}

/**
 * Sum of squared distances to the blocks' centres if the shape were a rectangle laid out in `count` equal blocks, in
 * columns or in rows, whichever is more compact.
 */
function outlook({areaM2, reach, breadth}: Spread, count: number): number {
  return (areaM2 / 12) * Math.min(columnsOfBlocks(reach, breadth, count), columnsOfBlocks(breadth, reach, count));
}

/** Mean of width² + height² over equal blocks stacked in columns, some of which hold one block more. */
function columnsOfBlocks(width: number, height: number, count: number): number {
  const ideal = Math.sqrt((count * width) / height);
  let least = Infinity;
  for (const wanted of [Math.floor(ideal), Math.ceil(ideal)]) {
    const columns = Math.min(count, Math.max(1, wanted));
    const few = Math.floor(count / columns);
    const fuller = count - few * columns;
    const column = (blocks: number): number => blocks * (((width * blocks) / count) ** 2 + (height / blocks) ** 2);
    const sum = (columns - fuller) * column(few) + (fuller > 0 ? fuller * column(few + 1) : 0);
    least = Math.min(least, sum / count);
  }
  return least;
}

function lengthen({from, to}: {from: XY; to: XY}): XY[] {
  const length = Math.hypot(to.x - from.x, to.y - from.y);
  const beyond = OVERSHOOT_M / length;
  const [dx, dy] = [(to.x - from.x) * beyond, (to.y - from.y) * beyond];
  return [
    {x: from.x - dx, y: from.y - dy},
    {x: to.x + dx, y: to.y + dy},
  ];
}

/** Far over rounding, far under anything on the ground. */
const OVERSHOOT_M = 0.001;
