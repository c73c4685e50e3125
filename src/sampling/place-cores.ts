import {equalParts} from "../geo/equal-parts.ts";
import {pointAt} from "../geo/half-plane.ts";
import {areaM2, distanceM} from "../geo/measure.ts";
import type {MultiPolygon, XY} from "../geo/shapes.ts";
import type {Random} from "../stats/random.ts";

/**
 * Random places for the cores of one composite: the room is divided into `count` compact strata of equal area and one
 * core falls at random in each, not nearer to another core than a spacing.
 *
 * Equal strata make the plain mix of the cores an unbiased sample of the room (but for the spacing rule, which thins
 * out stratum edges a little). The spacing starts at half the side of a stratum's square and gives way by a tenth
 * whenever a stratum has no place left.
 *
 * @param room - Where cores may go; has area.
 * @param angle - Direction the field runs in, radians counter-clockwise from east.
 *
 * Source: Brus, Spätjens and de Gruijter (1999), Geoderma 89: 129–148, and Walvoort, Brus and de Gruijter (2010),
 * Computers & Geosciences 36: 1261–1267, for composites of one core per compact stratum of equal area.
 */
export function placeCores(room: MultiPolygon, count: number, angle: number, random: Random): XY[] {
  let spacing = startSpacingM(areaM2(room), count);
  const cores: XY[] = [];
  for (const stratum of equalParts(room, count, angle).parts) {
    for (let attempt = 1; ; attempt++) {
      const core = pointAt(stratum, random.next(), random.next());
      if (cores.every((other) => distanceM(core, other) >= spacing)) {
        cores.push(core);
        break;
      }
      if (attempt % GIVE_UP === 0) spacing *= 0.9;
    }
  }
  return cores;
}

/** Half the side of the square each core stands for. Random places can hold up to 0.83 of that side. */
export function startSpacingM(areaM2: number, count: number): number {
  return 0.5 * Math.sqrt(areaM2 / count);
}

/** Least distance between two cores; Infinity for one core. */
export function leastSpacingM(cores: readonly XY[]): number {
  let least = Infinity;
  cores.forEach((a, i) => {
    for (const b of cores.slice(0, i)) least = Math.min(least, distanceM(a, b));
  });
  return least;
}

/** Tries in one stratum before the spacing gives way. */
const GIVE_UP = 50;
