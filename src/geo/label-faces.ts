import {facesOfChains, type Way} from "./chain-faces.ts";
import {type Edge, joinEdges} from "./join-edges.ts";
import {areaM2, distanceM} from "./measure.ts";
import {type Chain, nodeLines} from "./node-lines.ts";
import type {Part} from "./partition.ts";
import type {MultiPolygon, Polygon, XY} from "./shapes.ts";

/** A shape divided by lines, with what is known of its borders: chains of edges with one face on either side. */
export interface ChainedFaces {
  readonly faces: readonly Polygon[];
  readonly chains: readonly Chain[];
  /** Ways of each face by ring: twice the number of a chain, plus one where the face runs it backwards. */
  readonly ways: readonly (readonly (readonly Way[])[])[];
  /** Face to the left of each way, -1 outside. */
  readonly faceOf: Int32Array;
}

/**
 * Divides an outline by lines that hardly cross but for the outline: the faces of `partition`, corner by corner and in
 * its order, in a tenth of the time.
 *
 * @returns Undefined when anything is too close to call, or the faces do not add up; `partition` then knows.
 */
export function chainedFaces(outline: MultiPolygon, cuts: readonly (readonly XY[])[]): ChainedFaces | undefined {
  const rings = outline.flat();
  const chains = nodeLines([...rings, ...cuts]);
  const all = chains && facesOfChains(chains);
  if (!chains || !all) return undefined;
  const isBorder = chains.map(({lines}) => lines.filter((line) => line < rings.length).length % 2 === 1);
  const inside = insideOf(all.faceOf, all.faces.length, isBorder);
  if (!inside) return undefined;
  const number = new Int32Array(all.faces.length).fill(-1);
  let count = 0;
  inside.forEach((isInside, face) => {
    if (isInside) number[face] = count++;
  });
  const keep = <T>(of: readonly T[]): T[] => of.filter((_, face) => inside[face] === 1);
  const faces = keep(all.faces);
  // Corners move by up to half a step of the node grid, and the area of a sliver with them.
  const [whole, sum] = [areaM2(outline), areaM2(faces)];
  if (!(Math.abs(sum - whole) <= 1e-9 * whole)) return undefined;
  const faceOf = all.faceOf.map((face) => (face === -1 ? -1 : (number[face] as number)));
  return {faces, chains, ways: keep(all.ways), faceOf};
}

/** Which faces are in the outline: crossing its border leads in or out. Undefined when two ways there disagree. */
function insideOf(faceOf: Int32Array, count: number, isBorder: readonly boolean[]): Uint8Array | undefined {
  const UNKNOWN = 2;
  const inside = new Uint8Array(count + 1).fill(UNKNOWN);
  const outside = count;
  const at = (way: Way): number => (faceOf[way] === -1 ? outside : (faceOf[way] as number));
  const beside: number[][] = Array.from({length: count + 1}, () => []);
  isBorder.forEach((_, chain) => {
    const [left, right] = [at(2 * chain), at(2 * chain + 1)];
    // A chain that divides nothing has -1 on either side.
    if (left === right) return;
    beside[left]?.push(chain);
    beside[right]?.push(chain);
  });
  inside[outside] = 0;
  const open = [outside];
  for (let face = open.pop(); face !== undefined; face = open.pop()) {
    for (const chain of beside[face] as number[]) {
      const other = at(2 * chain) === face ? at(2 * chain + 1) : at(2 * chain);
      const state = isBorder[chain] ? 1 - (inside[face] as number) : (inside[face] as number);
      if (inside[other] === UNKNOWN) {
        inside[other] = state;
        open.push(other);
      } else if (inside[other] !== state) return undefined;
    }
  }
  return inside.includes(UNKNOWN) ? undefined : inside.subarray(0, count);
}

/** As `sharedBorders` of a partition: length of border each pair of faces shares, metres. */
export function chainedBorders({faces, chains, ways, faceOf}: ChainedFaces): Map<number, number>[] {
  const borders = faces.map(() => new Map<number, number>());
  const met = new Uint8Array(chains.length);
  ways.forEach((rings, face) => {
    for (const way of rings.flat()) {
      const other = faceOf[way ^ 1] as number;
      if (met[way >> 1] === 1 && other !== -1) {
        const own = borders[face] as Map<number, number>;
        let length = own.get(other) ?? 0;
        const {points} = chains[way >> 1] as Chain;
        const [start, step] = way & 1 ? [points.length - 1, -1] : [0, 1];
        // Segment by segment, in the order the face runs them.
        for (let i = 0, k = start; i + 1 < points.length; i++, k += step) {
          length += distanceM(points[k] as XY, points[k + step] as XY);
        }
        own.set(other, length);
        borders[other]?.set(face, length);
      }
      met[way >> 1] = 1;
    }
  });
  return borders;
}

/** As `dissolve` of a partition: the faces of one label joined, parts in rising order of label. */
export function joinFaces({chains, ways, faceOf}: ChainedFaces, labels: ArrayLike<number>): Part[] {
  const edgesByLabel = new Map<number, Edge[]>();
  ways.forEach((rings, face) => {
    const label = labels[face] as number;
    let edges = edgesByLabel.get(label);
    if (!edges) {
      edges = [];
      edgesByLabel.set(label, edges);
    }
    for (const way of rings.flat()) {
      const other = faceOf[way ^ 1] as number;
      if (other !== -1 && labels[other] === label) continue;
      const {from, to, points} = chains[way >> 1] as Chain;
      edges.push(way & 1 ? {from: to, to: from, points: [...points].reverse()} : {from, to, points});
    }
  });
  return [...edgesByLabel.entries()]
    .sort(([a], [b]) => a - b)
    .map(([label, edges]) => ({label, shape: joinEdges(edges)}));
}
