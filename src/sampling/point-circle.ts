import {buffer, intersection} from "../geo/geos.ts";
import {nearestPointIn} from "../geo/nearest.ts";
import type {MultiPolygon, XY} from "../geo/shapes.ts";

/**
 * The circle of cores around a point of a unit, for maps drawn through points.
 *
 * Where the point is no place for cores (a hole, a keep-out, the far side of an L) the circle moves to the nearest
 * place that holds all of it, or else to the nearest place at all.
 */
export function pointCircle(room: MultiPolygon, radiusM: number, point: XY): {centre: XY; shape: MultiPolygon} {
  const whole = buffer(room, -radiusM);
  const centre = nearestPointIn(whole.length > 0 ? whole : room, point);
  return {centre, shape: intersection(room, [[circle(centre, radiusM)]])};
}

const SIDES = 32;

function circle(centre: XY, radiusM: number): XY[] {
  return Array.from({length: SIDES + 1}, (_, i) => {
    const angle = (2 * Math.PI * (i % SIDES)) / SIDES;
    return {x: centre.x + radiusM * Math.cos(angle), y: centre.y + radiusM * Math.sin(angle)};
  });
}
