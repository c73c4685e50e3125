import {difference, union} from "../../src/geo/geos.ts";
import type {MultiPolygon, XY} from "../../src/geo/shapes.ts";
import type {Random} from "../../src/stats/random.ts";
import {box, ring} from "../zones/fields.ts";

/**
 * The outline of a field no one would want to farm: bays and points, often with holes, a second part, a lane narrower
 * than a cell, or a sliver.
 */
export function randomOutline(random: Random): MultiPolygon {
  let outline = star(random, 0, 0, 100 + 140 * random.next(), 5 + random.integer(12));
  if (random.next() < 0.5) outline = difference(outline, star(random, 20, 10, 60, 7));
  if (random.next() < 0.3) {
    // A few trees or poles.
    for (let i = 0; i < 4; i++) {
      outline = difference(outline, star(random, 160 * random.next() - 80, 160 * random.next() - 80, 12, 5));
    }
  }
  if (random.next() < 0.4) {
    const width = 0.5 + 12 * random.next();
    outline = union([outline, box(-320, 5, -40, 5 + width), box(-360, -60, -315, 60)]);
  }
  if (random.next() < 0.3) outline = union([outline, [[ring([0, -20], [260, -30 - 30 * random.next()], [0, 20])]]]);
  if (random.next() < 0.4) outline = [...outline, ...star(random, 500, 80, 40 + 60 * random.next(), 6)];
  return outline;
}

/** A shape with bays and points around a centre. */
function star(random: Random, x: number, y: number, radius: number, corners: number): MultiPolygon {
  const points: XY[] = Array.from({length: corners}, (_, i) => {
    const angle = (2 * Math.PI * (i + 0.6 * random.next())) / corners;
    const reach = radius * (0.35 + 0.65 * random.next());
    return {x: x + reach * Math.cos(angle), y: y + reach * Math.sin(angle)};
  });
  return [[[...points, points[0] as XY]]];
}
