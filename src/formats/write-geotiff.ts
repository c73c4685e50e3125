import {FieldError} from "../errors.ts";
import type {Crs} from "../geo/crs.ts";
import type {Raster} from "../grid/raster.ts";
import {writeFloatTiff} from "./geotiff.ts";

const DOUBLES = 34736;
/** Metres about a point, as `crsLocal` and every field's own frame define them. */
const LOCAL = /^\+proj=tmerc \+lat_0=(\S+) \+lon_0=(\S+) \+k=1 \+x_0=0 \+y_0=0 \+datum=WGS84/;

type Key = readonly [key: number, location: number, count: number, value: number];

/**
 * A single-band 32-bit float GeoTIFF, uncompressed, cells as areas, NaN as no-data. Same raster, same bytes.
 *
 * The coordinate system is written as an EPSG code or, for metres about a point, spelled out in GeoTIFF keys.
 *
 * @throws {FieldError} `export/crs` for any other: it would be read as something it is not.
 */
export function writeGeoTiff(raster: Raster): Uint8Array {
  const {keys, doubles} = keysOf(raster.crs);
  return writeFloatTiff(raster.values, raster.cols, raster.rows, raster, keys, doubles);
}

/** Keys 1024 model type, 1025 cells are areas, 2048 geographic and 3072 projected system, 3074 on: its parameters. */
function keysOf(crs: Crs): {keys: readonly Key[]; doubles: readonly number[]} {
  const code = Number(/^EPSG:(\d+)$/.exec(crs.name)?.[1] ?? 0);
  if (code > 0) {
    const geographic = crs.units === "degrees";
    return {
      keys: [
        [1024, 0, 1, geographic ? 2 : 1],
        [1025, 0, 1, 1],
        [geographic ? 2048 : 3072, 0, 1, code],
      ],
      doubles: [],
    };
  }
  const local = LOCAL.exec(crs.definition);
  if (local) {
    return {
      keys: [
        [1024, 0, 1, 1],
        [1025, 0, 1, 1],
        [2048, 0, 1, 4326],
        [3072, 0, 1, 32767],
        [3074, 0, 1, 32767],
        [3075, 0, 1, 1], // transverse Mercator
        [3076, 0, 1, 9001], // metre
        [3080, DOUBLES, 1, 1],
        [3081, DOUBLES, 1, 0],
        [3082, DOUBLES, 1, 3],
        [3083, DOUBLES, 1, 3],
        [3092, DOUBLES, 1, 2],
      ],
      doubles: [Number(local[1]), Number(local[2]), 1, 0],
    };
  }
  throw new FieldError("export/crs", `${crs.name} cannot be written into a GeoTIFF.`, {
    hint: "Export it in a coordinate system with an EPSG code.",
  });
}
