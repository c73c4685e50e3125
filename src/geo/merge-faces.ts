import {polygonAreaM2} from "./measure.ts";
import {mergeSmall} from "./merge-small.ts";
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
  const areasM2 = division.faces.map(polygonAreaM2);
  const groups = mergeSmall({labels: [...areasM2.keys()], areasM2, borders: sharedBorders(division)}, leastAreaM2);
  const largest = new Map<number, number>();
  groups.forEach((group, face) => {
    const other = largest.get(group);
    if (other === undefined || (areasM2[face] as number) > (areasM2[other] as number)) largest.set(group, face);
  });
  return {leader: Array.from(groups, (group) => largest.get(group) as number), merged: groups.length - largest.size};
}
