import type {Crs} from "../geo/crs.ts";

/**
 * A picture of cells as a file holds it, in the file's own coordinate system: not yet a layer.
 *
 * North-up: cell (0, 0) has its outer corner at (`west`, `north`). Registration is settled (a file whose
 * coordinates name cell centres was shifted by half a cell when read). NaN is no-data.
 */
export interface Raster {
  readonly name: string;
  readonly crs: Crs;
  /** Outer edges, in the units of `crs` (degrees or metres or feet). */
  readonly west: number;
  readonly north: number;
  readonly cellWidth: number;
  readonly cellHeight: number;
  readonly cols: number;
  readonly rows: number;
  /** Length `cols * rows`, row-major, row 0 north. */
  readonly values: Float64Array;
  /** Unit of the values where the file says so, such as "m" or "us-ft". */
  readonly unit?: string;
}
