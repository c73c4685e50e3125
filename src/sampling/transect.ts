import {chords, type Line, lineCuttingOff, normalAt} from "../geo/half-plane.ts";
import {areaM2, distanceM} from "../geo/measure.ts";
import type {MultiPolygon, XY} from "../geo/shapes.ts";
import type {Random} from "../stats/random.ts";

/**
 * Cores at equal steps along one straight line through a room, the first at a random place of its step.
 *
 * Of lines in twelve directions that leave a third, half or two thirds of the room on one side the longest is taken, but
 * none within 20° of the rows: bands of fertilizer and old swaths run with them (advised against by the University of
 * Nebraska and the Illinois Soybean Association).
 *
 * Not a random sample of the room: ground off the line has no chance to be in the bag.
 *
 * @param rowAngle - Direction of the rows, radians counter-clockwise from east.
 */
export function transectCores(
  room: MultiPolygon,
  count: number,
  rowAngle: number,
  random: Random,
): {places: XY[]; lengthM: number} {
  const rings = room.flat();
  const whole = areaM2(room);
  let best: {from: XY; to: XY}[] = [];
  let lengthM = 0;
  for (let turn = 0; turn < DIRECTIONS; turn++) {
    const direction = (turn * Math.PI) / DIRECTIONS;
    if (angleBetween(direction, rowAngle) < LEAST_TURN) continue;
    for (const share of SHARES) {
      const line: Line = lineCuttingOff(rings, normalAt(direction + Math.PI / 2), share * whole);
      const pieces = chords(rings, line);
      const length = pieces.reduce((sum, {from, to}) => sum + distanceM(from, to), 0);
      if (length <= lengthM * (1 + 1e-9)) continue;
      best = pieces;
      lengthM = length;
    }
  }
  const first = random.next();
  return {places: Array.from({length: count}, (_, i) => placeAlong(best, ((i + first) / count) * lengthM)), lengthM};
}

// --- inside ---------------------------------------------------------------------------------------------------

const DIRECTIONS = 12;
const SHARES = [1 / 2, 1 / 3, 2 / 3];
const LEAST_TURN = (20 * Math.PI) / 180;

/** Between two lines without a sense: 0 to a right angle. */
function angleBetween(a: number, b: number): number {
  const turn = Math.abs(a - b) % Math.PI;
  return Math.min(turn, Math.PI - turn);
}

function placeAlong(pieces: readonly {from: XY; to: XY}[], distance: number): XY {
  let left = distance;
  for (const {from, to} of pieces) {
    const length = distanceM(from, to);
    if (left <= length && length > 0) {
      return {x: from.x + ((to.x - from.x) * left) / length, y: from.y + ((to.y - from.y) * left) / length};
    }
    left -= length;
  }
  throw new Error("a place beyond the end of a line");
}
