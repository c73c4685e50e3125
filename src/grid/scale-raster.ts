import type {Raster} from "./raster.ts";

/** The same raster in another unit: every value times a factor. NaN stays NaN. */
export function scaleRaster(raster: Raster, factor: number, unit: string): Raster {
  return {...raster, values: raster.values.map((value) => value * factor), unit};
}
