import {centroid, distanceM} from "../geo/measure.ts";
import type {MultiPolygon, XY} from "../geo/shapes.ts";

/** What has a place in a grid. */
export interface Placed {
  readonly column: number;
  readonly row: number;
  /** Separate part of the field it lies in. */
  readonly part: number;
  readonly shape: MultiPolygon;
}

/**
 * Cells in the order of a walk along rows (or columns), every other one backwards, one part of the field after the
 * other: always on to the part, and the corner of it, that is nearest.
 */
export function toAndFro<Cell extends Placed>(cells: readonly Cell[], alongRows: boolean, start: XY): Cell[] {
  const left = new Map<number, Cell[]>();
  for (const cell of cells) left.set(cell.part, [...(left.get(cell.part) ?? []), cell]);
  const walk: Cell[] = [];
  let here = start;
  while (left.size > 0) {
    let next: {part: number; cells: Cell[]} | undefined;
    let least = Infinity;
    for (const [part, inPart] of left) {
      for (const way of [1, -1]) {
        for (const lanes of [1, -1]) {
          const lane = walkLanes(inPart, alongRows, lanes, way);
          const distance = distanceM(here, centroid((lane[0] as Cell).shape));
          if (distance < least - 1e-6) {
            least = distance;
            next = {part, cells: lane};
          }
        }
      }
    }
    if (!next) throw new Error("cells without a place");
    left.delete(next.part);
    walk.push(...next.cells);
    here = centroid((walk.at(-1) as Cell).shape);
  }
  return walk;
}

function walkLanes<Cell extends Placed>(
  cells: readonly Cell[],
  alongRows: boolean,
  lanes: number,
  way: number,
): Cell[] {
  const byLane = new Map<number, Cell[]>();
  for (const cell of cells) {
    const lane = alongRows ? cell.row : cell.column;
    byLane.set(lane, [...(byLane.get(lane) ?? []), cell]);
  }
  const place = (cell: Cell): number => (alongRows ? cell.column : cell.row);
  return [...byLane]
    .sort(([a], [b]) => lanes * (a - b))
    .flatMap(([, lane], i) => lane.sort((a, b) => way * (i % 2 === 0 ? 1 : -1) * (place(a) - place(b))));
}
