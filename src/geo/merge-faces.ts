import {polygonAreaM2} from "./measure.ts";
import {sharedBorders} from "./neighbours.ts";
import type {Partition} from "./partition.ts";

/** Which faces belong together after small ones were merged. */
export interface Merging {
  /** For each face, the largest face of the group it ended up in: its own index when it stayed alone. */
  readonly leader: readonly number[];
  /** How many groups were too small and were joined to a neighbour. */
  readonly merged: number;
}

/**
 * Joins every face under a least area to the neighbour it shares the longest border with, smallest first, until none
 * is left. A small face without neighbours stays.
 *
 * Equal areas and equal borders go by lowest index.
 */
export function mergeSmallFaces(division: Partition, leastAreaM2: number): Merging {
  const faceAreas = division.faces.map(polygonAreaM2);
  const areas = [...faceAreas];
  const borders = sharedBorders(division);
  const leader = division.faces.map((_, i) => i);
  const members = division.faces.map((_, i) => [i]);
  let merged = 0;
  for (;;) {
    let small = -1;
    for (const [i, area] of areas.entries()) {
      if (leader[i] !== i || area >= leastAreaM2 || borders[i]?.size === 0) continue;
      if (small < 0 || area < (areas[small] as number)) small = i;
    }
    if (small < 0) return {leader, merged};
    join(small, longestBorder(borders[small] as Map<number, number>));
    merged++;
  }

  function join(a: number, b: number): void {
    const [into, from] = (faceAreas[a] as number) > (faceAreas[b] as number) ? [a, b] : [b, a];
    for (const face of members[from] as number[]) leader[face] = into;
    members[into]?.push(...(members[from] as number[]));
    areas[into] = (areas[a] as number) + (areas[b] as number);
    const around = borders[into] as Map<number, number>;
    for (const [other, length] of borders[from] as Map<number, number>) {
      borders[other]?.delete(from);
      if (other === into) continue;
      const total = (around.get(other) ?? 0) + length;
      around.set(other, total);
      borders[other]?.set(into, total);
    }
    around.delete(from);
  }
}

function longestBorder(borders: ReadonlyMap<number, number>): number {
  let best = -1;
  let longest = -Infinity;
  for (const [other, length] of borders) {
    if (length > longest || (length === longest && other < best)) {
      longest = length;
      best = other;
    }
  }
  return best;
}
