import {writeArrayBuffer} from "geotiff";
import type {Raster} from "../../src/grid/raster.ts";
import {elevation} from "./elevation.ts";
import type {SampleField} from "./farm.ts";
import {boundary, geoJsonText, landmarks} from "./geojson.ts";
import {soilMap} from "./soil-map.ts";
import {yieldCsv} from "./yield-csv.ts";

/** Everything an adviser brings from the farm, by file name; the same bytes every time. Needs GEOS loaded. */
export function filesOf(field: SampleField): Map<string, Uint8Array> {
  const text = new TextEncoder();
  const files = new Map<string, Uint8Array>([
    ["boundary.geojson", text.encode(geoJsonText(boundary(field)))],
    ["landmarks.geojson", text.encode(geoJsonText(landmarks(field)))],
    ["soil.geojson", text.encode(geoJsonText(soilMap(field)))],
    ["elevation.tif", geoTiff(elevation(field))],
  ]);
  for (const season of field.seasons) {
    files.set(`yield-${season.year}-${season.crop}.csv`, text.encode(yieldCsv(field, season)));
  }
  return files;
}

/** Uncompressed 32-bit floats; the outer corner of the first cell is the tie point. */
function geoTiff(raster: Raster): Uint8Array {
  const bytes = writeArrayBuffer(Float32Array.from(raster.values), {
    height: raster.rows,
    width: raster.cols,
    ModelPixelScale: [raster.cellWidth, raster.cellHeight, 0],
    ModelTiepoint: [0, 0, 0, raster.west, raster.north, 0],
    GTModelTypeGeoKey: 1,
    GTRasterTypeGeoKey: 1,
    ProjectedCSTypeGeoKey: Number(raster.crs.name.replace("EPSG:", "")),
  });
  return new Uint8Array(bytes);
}
