import {geodesicAreaM2} from "../geo/geodesic.ts";
import type {LonLatRing} from "../geo/shapes.ts";

/** Where cells of equal size in degrees lie: outer edges, row 0 north. */
export interface DegreeCells {
  readonly west: number;
  readonly north: number;
  readonly cellWidth: number;
  readonly cellHeight: number;
  readonly cols: number;
  readonly rows: number;
}

/** Ground of a cell of each row, square metres: towards the poles they grow narrow. */
export function rowCellAreasM2({west, north, cellWidth, cellHeight, rows}: DegreeCells): number[] {
  return Array.from({length: rows}, (_, row) => {
    const [top, bottom] = [north - row * cellHeight, north - (row + 1) * cellHeight];
    const ring: LonLatRing = [
      [west, bottom],
      [west + cellWidth, bottom],
      [west + cellWidth, top],
      [west, top],
      [west, bottom],
    ];
    return geodesicAreaM2([[ring]]);
  });
}
