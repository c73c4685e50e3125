import {ringOf} from "./join-edges.ts";
import {boxOf, contains, ringAreaM2} from "./measure.ts";
import type {Chain} from "./node-lines.ts";
import type {Box, Polygon, Ring, XY} from "./shapes.ts";

/**
 * A chain run one way: twice its number, plus one when run backwards. Its twin is the other way.
 *
 * Everything here goes by ways: a face lies on the left of the ways around it.
 */
export type Way = number;

/** The areas that chains enclose. */
export interface ChainFaces {
  readonly faces: readonly Polygon[];
  /** Ways of each face by ring, as the rings of `faces` run. */
  readonly ways: readonly (readonly (readonly Way[])[])[];
  /** Face to the left of each way; -1 where the way does not divide anything, or outside is there. */
  readonly faceOf: Int32Array;
}

/**
 * Every enclosed area as a polygon, in the order and with the first corners that GEOS gives them: rings go by their
 * lowest way, seen from outside, and start where that ends. Chains that divide nothing are left out.
 *
 * @param chains - As `nodeLines` cuts them.
 * @returns Undefined when the chains are not those of a plane figure, or that is too close to call.
 */
export function facesOfChains(chains: readonly Chain[]): ChainFaces | undefined {
  const used = new Uint8Array(chains.length).fill(1);
  const fans = fansOf(chains);
  if (!fans) return undefined;
  dropDangles(chains, fans, used);
  const first = walk(chains, fans, used);
  for (let c = 0; c < chains.length; c++) if (first.of[2 * c] === first.of[2 * c + 1]) used[c] = 0;
  const walks = walk(chains, fans, used).walks;
  const groups = groupsOf(chains, used);
  if (!isPlane(chains, used, groups, walks.length)) return undefined;
  return assemble(chains, walks, groups);
}

const startOf = (chains: readonly Chain[], way: Way): number => {
  const chain = chains[way >> 1] as Chain;
  return way & 1 ? chain.to : chain.from;
};
const endOf = (chains: readonly Chain[], way: Way): number => startOf(chains, way ^ 1);

/** The ways that leave each node, counter-clockwise. */
type Fans = ReadonlyMap<number, Way[]>;

function fansOf(chains: readonly Chain[]): Fans | undefined {
  const fans = new Map<number, Way[]>();
  for (let way = 0; way < 2 * chains.length; way++) {
    const node = startOf(chains, way);
    const fan = fans.get(node);
    if (fan) fan.push(way);
    else fans.set(node, [way]);
  }
  let doubt = false;
  const compare = (v: Way, w: Way): number => {
    const [a, b] = [headingOf(chains, v), headingOf(chains, w)];
    const half = (p: XY): number => (p.y > 0 || (p.y === 0 && p.x > 0) ? 0 : 1);
    if (half(a) !== half(b)) return half(a) - half(b);
    const [left, right] = [a.x * b.y, a.y * b.x];
    // Differences of grid points are exact, their products may be off in the last digit.
    if (Math.abs(left - right) <= 2 ** -50 * (Math.abs(left) + Math.abs(right))) doubt = true;
    return right - left;
  };
  for (const fan of fans.values()) if (fan.length > 1) fan.sort(compare);
  return doubt ? undefined : fans;
}

function headingOf(chains: readonly Chain[], way: Way): XY {
  const {points} = chains[way >> 1] as Chain;
  const [a, b] = (way & 1 ? [points.at(-1), points.at(-2)] : points) as [XY, XY];
  return {x: b.x - a.x, y: b.y - a.y};
}

/** Chains with a loose end enclose nothing; without them others may have one. */
function dropDangles(chains: readonly Chain[], fans: Fans, used: Uint8Array): void {
  const loose = [...fans.keys()];
  for (let node = loose.pop(); node !== undefined; node = loose.pop()) {
    const left = (fans.get(node) as Way[]).filter((way) => used[way >> 1]);
    if (left.length !== 1) continue;
    const [way] = left as [Way];
    used[way >> 1] = 0;
    loose.push(endOf(chains, way));
  }
}

/** The ways around each face in turn, keeping to the left; `of` is the walk of each way. */
function walk(chains: readonly Chain[], fans: Fans, used: Uint8Array): {walks: Way[][]; of: Int32Array} {
  // At the end of a way the next is the first clockwise from its twin.
  const next = new Int32Array(2 * chains.length);
  for (const fan of fans.values()) {
    const left = fan.filter((way) => used[way >> 1]);
    left.forEach((way, i) => {
      next[(left[(i + 1) % left.length] as Way) ^ 1] = way;
    });
  }
  const walks: Way[][] = [];
  const of = new Int32Array(2 * chains.length).fill(-1);
  for (let start = 0; start < of.length; start++) {
    if (!used[start >> 1] || of[start] !== -1) continue;
    const ways: Way[] = [];
    for (let way = start; of[way] === -1; way = next[way] as Way) {
      of[way] = walks.length;
      ways.push(way);
    }
    walks.push(ways);
  }
  return {walks, of};
}

/** Of each chain the lowest chain it hangs together with. */
function groupsOf(chains: readonly Chain[], used: Uint8Array): Int32Array {
  const parent = Int32Array.from(chains.keys());
  const rootOf = (chain: number): number => {
    let root = chain;
    while (parent[root] !== root) root = parent[root] as number;
    parent[chain] = root;
    return root;
  };
  const byNode = new Map<number, number>();
  chains.forEach(({from, to}, chain) => {
    if (!used[chain]) return;
    for (const node of [from, to]) {
      const other = byNode.get(node);
      if (other === undefined) byNode.set(node, chain);
      else {
        const [p, q] = [rootOf(chain), rootOf(other)];
        parent[Math.max(p, q)] = Math.min(p, q);
      }
    }
  });
  return parent.map((_, chain) => rootOf(chain));
}

/** Euler's formula, which fails when the ways around some node are in a wrong order. */
function isPlane(chains: readonly Chain[], used: Uint8Array, groups: Int32Array, walks: number): boolean {
  const nodes = new Set<number>();
  const pieces = new Set<number>();
  let edges = 0;
  chains.forEach(({from, to}, chain) => {
    if (!used[chain]) return;
    edges++;
    nodes.add(from).add(to);
    pieces.add(groups[chain] as number);
  });
  return nodes.size - edges + walks === 2 * pieces.size;
}

/** A simple ring of ways; `key` is its place in the order. */
interface WayRing {
  readonly ways: readonly Way[];
  readonly key: number;
  readonly ring: Ring;
  readonly areaM2: number;
}

interface Face {
  readonly outer: WayRing;
  readonly holes: WayRing[];
  readonly group: number;
  readonly box: Box;
}

function assemble(chains: readonly Chain[], walks: readonly Way[][], groups: Int32Array): ChainFaces | undefined {
  const lines = chains.map(({points}) => points);
  const backwards: (readonly XY[] | undefined)[] = [];
  const pointsOf = (way: Way): readonly XY[] => {
    const points = lines[way >> 1] as readonly XY[];
    if (!(way & 1)) return points;
    backwards[way >> 1] ??= [...points].reverse();
    return backwards[way >> 1] as readonly XY[];
  };
  const faces: Face[] = [];
  const outsides: {rings: WayRing[]; group: number}[] = [];
  for (const ways of walks) {
    const rings = splitAtTouches(chains, ways).map((loop): WayRing => {
      const key = Math.min(...loop.map((way) => way ^ 1));
      const at = loop.indexOf(key ^ 1) + 1;
      const turned = [...loop.slice(at), ...loop.slice(0, at)];
      const ring = ringOf(turned.map((way) => ({points: pointsOf(way)})));
      return {ways: turned, key, ring, areaM2: ringAreaM2(ring)};
    });
    const outer = rings.filter(({areaM2}) => areaM2 > 0);
    const holes = rings.filter(({areaM2}) => areaM2 < 0);
    if (outer.length > 1 || outer.length + holes.length < rings.length) return undefined;
    const group = groups[(ways[0] as Way) >> 1] as number;
    if (outer[0]) faces.push({outer: outer[0], holes, group, box: boxOf([[outer[0].ring]])});
    else outsides.push({rings: holes, group});
  }
  // Around a group of chains is the smallest face of another group that holds it, or nothing.
  const bySize = [...faces].sort((a, b) => a.outer.areaM2 - b.outer.areaM2);
  for (const {rings, group} of outsides) {
    const {x, y} = (rings[0] as WayRing).ring[0] as XY;
    const home = bySize.find(
      ({outer, box, group: own}) =>
        own !== group &&
        x >= box.west &&
        x <= box.east &&
        y >= box.south &&
        y <= box.north &&
        contains([[outer.ring]], x, y),
    );
    home?.holes.push(...rings);
  }
  faces.sort((a, b) => a.outer.key - b.outer.key);
  const faceOf = new Int32Array(2 * chains.length).fill(-1);
  const polygons: Polygon[] = [];
  const ways = faces.map(({outer, holes}, face) => {
    const rings = [outer, ...holes.sort((a, b) => a.key - b.key)];
    for (const ring of rings) for (const way of ring.ways) faceOf[way] = face;
    polygons.push(rings.map(({ring}) => ring));
    return rings.map((ring) => ring.ways);
  });
  return {faces: polygons, ways, faceOf};
}

/** Cuts a walk that visits a node twice into simple loops. */
function splitAtTouches(chains: readonly Chain[], ways: readonly Way[]): Way[][] {
  const loops: Way[][] = [];
  const open: Way[] = [];
  const seen = new Map<number, number>();
  for (const way of ways) {
    seen.set(startOf(chains, way), open.length);
    open.push(way);
    const at = seen.get(endOf(chains, way));
    if (at === undefined) continue;
    const loop = open.splice(at);
    for (const each of loop) seen.delete(startOf(chains, each));
    loops.push(loop);
  }
  return loops;
}
