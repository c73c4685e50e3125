import {contains, distanceToEdgeM} from "../geo/measure.ts";
import type {Box, MultiPolygon, Ring, XY} from "../geo/shapes.ts";

// Paper here is as SVG has it: points of 1/72 inch, x to the right, y down. A box has its north above its south, so
// that `north < south`.

/** A text with a place found for it. */
export interface PlacedLabel {
  readonly text: string;
  readonly box: Box;
  readonly fontSize: number;
  /** From the edge of the text to the thing it names, where it does not stand on it. */
  readonly leader?: {readonly from: XY; readonly to: XY};
}

/** Everything already on the paper that a label must not cover. */
export interface Paper {
  readonly width: number;
  readonly height: number;
  /** Boxes by the squares of the paper they lie in, so that only those near a label are looked at. */
  readonly squares: Map<number, Box[]>;
  readonly leaders: {readonly from: XY; readonly to: XY}[];
}

export function emptyPaper(width: number, height: number): Paper {
  return {width, height, squares: new Map(), leaders: []};
}

/** Marks a box as taken. */
export function take(paper: Paper, box: Box): void {
  for (const square of squaresOf(box)) {
    const there = paper.squares.get(square);
    if (there) there.push(box);
    else paper.squares.set(square, [box]);
  }
}

/** Boxes taken in or near a box, some of them twice. */
export function takenNear(paper: Paper, box: Box): Box[] {
  return squaresOf(box).flatMap((square) => paper.squares.get(square) ?? []);
}

/**
 * Writes a label into its shape where it covers nothing.
 *
 * @param shape - On paper.
 * @param spot - Where it stands best.
 * @returns Undefined when there is no such place. What is placed is added to `paper`.
 */
export function placeInside(
  paper: Paper,
  text: string,
  fontSize: number,
  shape: MultiPolygon,
  spot: XY,
): PlacedLabel | undefined {
  const size = sizeOf(text, fontSize);
  const box = insideSpots(shape, spot, size)
    .map((at) => around(at, size))
    .find((tried) => isFree(paper, tried) && holds(shape, tried));
  return box && keep(paper, {text, fontSize, box});
}

/**
 * Writes a label beside its shape, as near to `spot` as can be, with a line to it.
 *
 * @param lines - What the text should not stand across; crossed only where there is no other room.
 * @returns Undefined when the paper is full.
 */
export function placeOutside(
  paper: Paper,
  text: string,
  fontSize: number,
  shape: MultiPolygon,
  spot: XY,
  lines: readonly Ring[] = [],
): PlacedLabel | undefined {
  const size = sizeOf(text, fontSize);
  return (
    besideShape(paper, text, fontSize, size, shape, spot, lines) ??
    (lines.length > 0 ? besideShape(paper, text, fontSize, size, shape, spot, []) : undefined)
  );
}

function besideShape(
  paper: Paper,
  text: string,
  fontSize: number,
  size: {width: number; height: number},
  shape: MultiPolygon,
  spot: XY,
  lines: readonly Ring[],
): PlacedLabel | undefined {
  // Where the ground is full of marks the line ends among them.
  const unseen = takenNear(paper, around(spot, {width: 0, height: 0})).some((box) => isIn(spot, box)) ? MARK : 0;
  for (let ring = 1; ring * STEP <= FURTHEST; ring++) {
    const distance = ring * STEP;
    const steps = Math.max(12, Math.round((2 * Math.PI * distance) / STEP));
    for (let i = 0; i < steps; i++) {
      const angle = (2 * Math.PI * i) / steps;
      const box = around({x: spot.x + distance * Math.cos(angle), y: spot.y - distance * Math.sin(angle)}, size);
      if (!isFree(paper, box) || touches(shape, box) || lines.some((ring) => ringCrosses(ring, box))) continue;
      const leader = {from: edgeToward(box, spot), to: spot};
      if (isClear(paper, leader, unseen)) return keep(paper, {text, fontSize, box, leader});
    }
  }
  return undefined;
}

/**
 * Writes a short text beside a mark, in one of sixteen directions, the first that covers nothing; further out with a
 * line when none is free.
 */
export function placeBeside(paper: Paper, text: string, fontSize: number, mark: XY): PlacedLabel | undefined {
  const size = sizeOf(text, fontSize);
  for (const gap of BESIDE_GAPS) {
    for (const [right, down] of DIRECTIONS) {
      const at = {x: mark.x + right * (size.width / 2 + gap), y: mark.y + down * (size.height / 2 + gap)};
      const box = around(at, size);
      if (!isFree(paper, box)) continue;
      if (gap === BESIDE_GAPS[0]) return keep(paper, {text, fontSize, box});
      const leader = {from: edgeToward(box, mark), to: mark};
      if (isClear(paper, leader, MARK)) return keep(paper, {text, fontSize, box, leader});
    }
  }
  return undefined;
}

/** Room a text needs, generous enough for any plain sans-serif in bold; the text is set to exactly this width. */
export function sizeOf(text: string, fontSize: number): {width: number; height: number} {
  const ems = [...text].reduce((sum, c) => sum + (/[0-9 -]/.test(c) ? 0.57 : /[ilI.,]/.test(c) ? 0.35 : 0.7), 0);
  return {width: ems * fontSize, height: fontSize * 0.86};
}

export function overlap(a: Box, b: Box): boolean {
  return a.west < b.east && b.west < a.east && a.north < b.south && b.north < a.south;
}

/** Distance between tries for a label beside its shape, and the longest line from it, points. */
const STEP = 5;
const FURTHEST = 150;
/** From the middle of a mark to the corner of its box, with a hair, points. */
const MARK = 2.3;
/** Side of the squares boxes are sorted into, points. */
const SQUARE = 16;
const SQUARES_ACROSS = 4096;
/** White kept round every label, points. */
const CLEAR = 0.8;
const BESIDE_GAPS = [2.5, 4.5, 7, 10, 14, 18] as const;
const DIRECTIONS: readonly (readonly [number, number])[] = [
  [1, 0],
  [-1, 0],
  [0, -1],
  [0, 1],
  [1, -1],
  [1, 1],
  [-1, -1],
  [-1, 1],
  [1, -0.5],
  [1, 0.5],
  [-1, -0.5],
  [-1, 0.5],
  [0.5, -1],
  [0.5, 1],
  [-0.5, -1],
  [-0.5, 1],
];

/** The spot itself, then a net over the shape, places with most room first but not far from the spot for little. */
function insideSpots(shape: MultiPolygon, spot: XY, {width, height}: {width: number; height: number}): XY[] {
  const points = shape.flatMap((polygon) => polygon[0] ?? []);
  const [west, east] = [Math.min(...points.map(({x}) => x)), Math.max(...points.map(({x}) => x))];
  const [north, south] = [Math.min(...points.map(({y}) => y)), Math.max(...points.map(({y}) => y))];
  const net: {at: XY; merit: number}[] = [];
  const across = Math.max(2, Math.min(40, Math.ceil((east - west) / Math.max(1.5, width / 12))));
  const down = Math.max(2, Math.min(40, Math.ceil((south - north) / Math.max(1.5, height / 4))));
  for (let i = 1; i < across; i++) {
    for (let j = 1; j < down; j++) {
      const at = {x: west + ((east - west) * i) / across, y: north + ((south - north) * j) / down};
      if (!contains(shape, at.x, at.y)) continue;
      const room = Math.min(distanceToEdgeM(shape, at), width);
      net.push({at, merit: room - 0.5 * Math.hypot(at.x - spot.x, at.y - spot.y)});
    }
  }
  net.sort((a, b) => b.merit - a.merit);
  return [spot, ...net.map(({at}) => at)];
}

function around({x, y}: XY, {width, height}: {width: number; height: number}): Box {
  return {west: x - width / 2, east: x + width / 2, north: y - height / 2, south: y + height / 2};
}

function squaresOf({west, east, north, south}: Box): number[] {
  const squares: number[] = [];
  for (let j = Math.floor(north / SQUARE); j <= Math.floor(south / SQUARE); j++) {
    for (let i = Math.floor(west / SQUARE); i <= Math.floor(east / SQUARE); i++) squares.push(j * SQUARES_ACROSS + i);
  }
  return squares;
}

function isFree(paper: Paper, box: Box): boolean {
  const {width, height, leaders} = paper;
  const wide = {west: box.west - CLEAR, east: box.east + CLEAR, north: box.north - CLEAR, south: box.south + CLEAR};
  if (wide.west < 1 || wide.north < 1 || wide.east > width - 1 || wide.south > height - 1) return false;
  const near = squaresOf(wide).some((square) => paper.squares.get(square)?.some((other) => overlap(wide, other)));
  return !near && !leaders.some(({from, to}) => crossesBox(from, to, wide));
}

/** A leader covers no label and crosses no other leader; its last `unseen` points, on the mark it ends at, are not looked at. */
function isClear(paper: Paper, {from, to}: {from: XY; to: XY}, unseen: number): boolean {
  const length = Math.hypot(to.x - from.x, to.y - from.y);
  const share = length === 0 ? 0 : Math.max(0, (length - unseen) / length);
  const end = {x: from.x + (to.x - from.x) * share, y: from.y + (to.y - from.y) * share};
  const span = {
    west: Math.min(from.x, end.x),
    east: Math.max(from.x, end.x),
    north: Math.min(from.y, end.y),
    south: Math.max(from.y, end.y),
  };
  return (
    !takenNear(paper, span).some((box) => crossesBox(from, end, box)) &&
    !paper.leaders.some((other) => cross(from, end, other.from, other.to))
  );
}

function keep(paper: Paper, label: PlacedLabel): PlacedLabel {
  take(paper, label.box);
  if (label.leader) paper.leaders.push(label.leader);
  return label;
}

/** True when a whole box lies in a shape: its corners and the middles of its sides, and no corner of the shape in it. */
function holds(shape: MultiPolygon, box: Box): boolean {
  const points = outlineOf(box);
  return points.every(({x, y}) => contains(shape, x, y)) && !shape.flat(2).some((p) => isIn(p, box));
}

function touches(shape: MultiPolygon, box: Box): boolean {
  return outlineOf(box).some(({x, y}) => contains(shape, x, y)) || shape.flat(2).some((p) => isIn(p, box));
}

function outlineOf({west, east, north, south}: Box): XY[] {
  const [x, y] = [(west + east) / 2, (north + south) / 2];
  return [
    {x: west, y: north},
    {x, y: north},
    {x: east, y: north},
    {x: east, y},
    {x: east, y: south},
    {x, y: south},
    {x: west, y: south},
    {x: west, y},
    {x, y},
  ];
}

const isIn = ({x, y}: XY, {west, east, north, south}: Box): boolean => x > west && x < east && y > north && y < south;

/** Where the line from the middle of a box to a point leaves the box. */
function edgeToward(box: Box, to: XY): XY {
  const [x, y] = [(box.west + box.east) / 2, (box.north + box.south) / 2];
  const [dx, dy] = [to.x - x, to.y - y];
  const share = Math.min(
    dx === 0 ? 1 : (box.east - box.west) / 2 / Math.abs(dx),
    dy === 0 ? 1 : (box.south - box.north) / 2 / Math.abs(dy),
    1,
  );
  return {x: x + dx * share, y: y + dy * share};
}

function ringCrosses(ring: Ring, box: Box): boolean {
  return ring.some((p, i) => {
    const q = ring[i + 1];
    if (!q || Math.max(p.x, q.x) < box.west || Math.min(p.x, q.x) > box.east) return false;
    return Math.max(p.y, q.y) >= box.north && Math.min(p.y, q.y) <= box.south && crossesBox(p, q, box);
  });
}

function crossesBox(from: XY, to: XY, box: Box): boolean {
  if (isIn(from, box) || isIn(to, box)) return true;
  const corners = [
    {x: box.west, y: box.north},
    {x: box.east, y: box.north},
    {x: box.east, y: box.south},
    {x: box.west, y: box.south},
  ];
  return corners.some((a, i) => cross(from, to, a, corners[(i + 1) % 4] as XY));
}

/** Proper crossings only: pieces that touch end to end do not cross. */
function cross(a: XY, b: XY, c: XY, d: XY): boolean {
  const side = (p: XY, q: XY, r: XY): number => (q.x - p.x) * (r.y - p.y) - (q.y - p.y) * (r.x - p.x);
  return side(a, b, c) * side(a, b, d) < 0 && side(c, d, a) * side(c, d, b) < 0;
}
