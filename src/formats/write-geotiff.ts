import type {Raster} from "../grid/raster.ts";
import {writeFloatTiff} from "./geotiff.ts";

/**
 * A single-band 32-bit float GeoTIFF, uncompressed, cells as areas, NaN as no-data. Same raster, same bytes.
 *
 * The coordinate system must be an EPSG code: anything else would be read as something it is not.
 */
export function writeGeoTiff(raster: Raster): Uint8Array {
  const code = /^EPSG:(\d+)$/.exec(raster.crs.name)?.[1];
  if (code === undefined) throw new Error(`${raster.crs.name} cannot be written into a GeoTIFF`);
  const geographic = raster.crs.units === "degrees";
  return writeFloatTiff(raster.values, {
    height: raster.rows,
    width: raster.cols,
    ModelPixelScale: [raster.cellWidth, raster.cellHeight, 0],
    ModelTiepoint: [0, 0, 0, raster.west, raster.north, 0],
    GTModelTypeGeoKey: geographic ? 2 : 1,
    GTRasterTypeGeoKey: 1,
    [geographic ? "GeographicTypeGeoKey" : "ProjectedCSTypeGeoKey"]: Number(code),
    GDAL_NODATA: "nan",
  });
}
