import {FieldError} from "../errors.ts";
import type {LonLat, LonLatPolygon, LonLatRing} from "../geo/shapes.ts";
import {twiceArea} from "./rings.ts";

export interface Grouped {
  readonly polygons: readonly LonLatPolygon[];
  /** True when some ring ran the wrong way round for what it is: outer rings clockwise, holes counter-clockwise. */
  readonly misWound: boolean;
}

/** Edges looked at before giving up; a soil map unit of a thousand parts needs about a million. */
const MOST_WORK = 1e9;

/**
 * Rings in any order to polygons: a ring inside an odd number of others is a hole of the smallest one around it.
 *
 * Direction is not relied on, because files with all rings reversed exist and other readers then fill the holes.
 *
 * @param rings - Closed and with area.
 * @throws {FieldError} `shp/too-intricate` for rings nested without end.
 */
export function groupRings(rings: readonly LonLatRing[]): Grouped {
  const sized = rings
    .map((ring, index) => ({ring, index, area: Math.abs(twiceArea(ring)), box: boxOf(ring), depth: 0, home: -1}))
    .sort((a, b) => b.area - a.area || a.index - b.index);
  let misWound = false;
  let work = 0;
  sized.forEach((inner, i) => {
    // Only a larger ring can be around it; the last one found is the smallest.
    for (let j = 0; j < i; j++) {
      const outer = sized[j] as (typeof sized)[number];
      if (!boxHolds(outer.box, inner.box)) continue;
      work += outer.ring.length;
      if (work > MOST_WORK) throw tooIntricate(rings.length);
      if (!ringInside(inner.ring, outer.ring)) continue;
      inner.depth++;
      inner.home = j;
    }
    const isHole = inner.depth % 2 === 1;
    if (twiceArea(inner.ring) > 0 !== isHole) misWound = true;
  });
  const outers = sized.filter(({depth}) => depth % 2 === 0).sort((a, b) => a.index - b.index);
  const holes = sized.filter(({depth}) => depth % 2 === 1).sort((a, b) => a.index - b.index);
  const polygons = new Map(outers.map((outer) => [outer, [outer.ring]]));
  for (const hole of holes) {
    // Rings that cross each other can make a hole of a hole; it goes to the next outer ring further out.
    let home = sized[hole.home];
    while (home && home.depth % 2 === 1) home = sized[home.home];
    if (home) polygons.get(home)?.push(hole.ring);
    else polygons.set(hole, [hole.ring]);
  }
  return {polygons: [...polygons.values()], misWound};
}

function tooIntricate(rings: number): FieldError {
  return new FieldError("shp/too-intricate", `A shape of ${rings} rings inside one another cannot be sorted out.`, {
    hint: "Export the layer again with one polygon to a record.",
  });
}

type RingBox = readonly [west: number, south: number, east: number, north: number];

function boxOf(ring: LonLatRing): RingBox {
  let west = Infinity;
  let south = Infinity;
  let east = -Infinity;
  let north = -Infinity;
  for (const [x, y] of ring) {
    west = Math.min(west, x);
    east = Math.max(east, x);
    south = Math.min(south, y);
    north = Math.max(north, y);
  }
  return [west, south, east, north];
}

function boxHolds(outer: RingBox, inner: RingBox): boolean {
  return outer[0] <= inner[0] && outer[1] <= inner[1] && outer[2] >= inner[2] && outer[3] >= inner[3];
}

/** Decided by the first corner, then the first middle of an edge, that does not lie on the other ring itself. */
function ringInside(inner: LonLatRing, outer: LonLatRing): boolean {
  for (const corner of inner) {
    const side = locate(corner, outer);
    if (side !== 0) return side > 0;
  }
  for (let i = 0; i + 1 < inner.length; i++) {
    const a = inner[i] as LonLat;
    const b = inner[i + 1] as LonLat;
    const side = locate([(a[0] + b[0]) / 2, (a[1] + b[1]) / 2], outer);
    if (side !== 0) return side > 0;
  }
  return false;
}

/** 1 inside, -1 outside, 0 on the ring. */
function locate([x, y]: LonLat, ring: LonLatRing): -1 | 0 | 1 {
  let inside = false;
  for (let i = 0; i + 1 < ring.length; i++) {
    const [ax, ay] = ring[i] as LonLat;
    const [bx, by] = ring[i + 1] as LonLat;
    const cross = (bx - ax) * (y - ay) - (by - ay) * (x - ax);
    if (
      cross === 0 &&
      Math.min(ax, bx) <= x &&
      x <= Math.max(ax, bx) &&
      Math.min(ay, by) <= y &&
      y <= Math.max(ay, by)
    ) {
      return 0;
    }
    if (ay > y !== by > y && cross > 0 === by > ay) inside = !inside;
  }
  return inside ? 1 : -1;
}
