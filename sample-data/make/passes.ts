import {buffer} from "../../src/geo/geos.ts";
import {boxOf, distanceM} from "../../src/geo/measure.ts";
import type {MultiPolygon, Ring, XY} from "../../src/geo/shapes.ts";
import {METRES_PER_FOOT} from "../../src/units/factors.ts";
import type {SampleField, Season} from "./farm.ts";

/** A stretch driven with the header down, metres. */
export type Pass = readonly XY[];

const HEADLAND_ROUNDS = 2;
/** A sharper corner than this is not driven round: the header comes up. */
const SHARP_COS = Math.cos((50 * Math.PI) / 180);
const SHORTEST_M = 12;
/** Past the standing crop before the header is lifted. */
const OVERRUN_M = 2.5;

/**
 * The passes of one harvest in driving order: rounds along the outer edge, then back and forth along the rows, each
 * pass broken where it meets grass. The last pass overlaps the one before it or the headland, whatever is left over.
 */
export function planPasses(field: SampleField, season: Season): Pass[] {
  const swath = season.swathFt * METRES_PER_FOOT;
  const shell: MultiPolygon = [[field.outline[0]?.[0] as Ring]];
  const rounds = Array.from({length: HEADLAND_ROUNDS}, (_, i) => buffer(shell, -(i + 0.5) * swath)).flatMap((round) =>
    brokenAtCorners(round[0]?.[0] as Ring),
  );
  const middle = buffer(shell, -HEADLAND_ROUNDS * swath);
  const rings = [...middle.flat(), ...(field.outline[0]?.slice(1) ?? [])];
  return [...rounds, ...backAndForth(rings, swath, field.rowHeading, season.from)].filter(
    (pass) => lengthOf(pass) >= SHORTEST_M,
  );
}

export function lengthOf(path: readonly XY[]): number {
  let sum = 0;
  for (let i = 0; i + 1 < path.length; i++) sum += distanceM(path[i] as XY, path[i + 1] as XY);
  return sum;
}

function brokenAtCorners(ring: Ring): Pass[] {
  const corners = ring.slice(0, -1);
  const count = corners.length;
  const sharp = corners.map((p, i) => {
    const before = corners[(i + count - 1) % count] as XY;
    const after = corners[(i + 1) % count] as XY;
    const dot = (p.x - before.x) * (after.x - p.x) + (p.y - before.y) * (after.y - p.y);
    return dot < SHARP_COS * distanceM(before, p) * distanceM(p, after);
  });
  const first = Math.max(0, sharp.indexOf(true));
  const passes: XY[][] = [];
  let pass: XY[] = [corners[first] as XY];
  for (let k = 1; k <= count; k++) {
    const i = (first + k) % count;
    pass.push(corners[i] as XY);
    if (!sharp[i] && k < count) continue;
    passes.push(pass);
    pass = [corners[i] as XY];
  }
  return passes;
}

/** Parallel lines a swath apart over the rings' inside (even-odd), alternating in direction. */
function backAndForth(rings: readonly Ring[], swath: number, heading: 0 | 90, from: Season["from"]): Pass[] {
  // Worked out as if the rows ran east; for rows to the north x and y change places.
  const turned = heading === 90 ? rings : rings.map((ring) => ring.map(({x, y}) => ({x: y, y: x})));
  const box = boxOf(turned.map((ring) => [ring]));
  const count = Math.ceil((box.north - box.south) / swath);
  const passes: Pass[] = [];
  for (let k = 0; k < count; k++) {
    const y = from === "low" ? box.south + (k + 0.5) * swath : box.north - (k + 0.5) * swath;
    // The last centre line may lie outside what is left; its stretch is then that of the edge it overhangs.
    const crossings = crossingsAt(turned, Math.max(box.south + 0.1, Math.min(box.north - 0.1, y)));
    const stretches: Pass[] = [];
    for (let i = 0; i + 1 < crossings.length; i += 2) {
      const stretch = [
        {x: (crossings[i] as number) - OVERRUN_M, y},
        {x: (crossings[i + 1] as number) + OVERRUN_M, y},
      ];
      stretches.push(stretch);
    }
    if (k % 2 === 1) passes.push(...stretches.reverse().map((stretch) => [...stretch].reverse()));
    else passes.push(...stretches);
  }
  return heading === 90 ? passes : passes.map((pass) => pass.map(({x, y}) => ({x: y, y: x})));
}

function crossingsAt(rings: readonly Ring[], y: number): number[] {
  const found: number[] = [];
  for (const ring of rings) {
    for (let i = 0; i + 1 < ring.length; i++) {
      const a = ring[i] as XY;
      const b = ring[i + 1] as XY;
      if (a.y > y !== b.y > y) found.push(a.x + ((y - a.y) * (b.x - a.x)) / (b.y - a.y));
    }
  }
  return found.sort((p, q) => p - q);
}
