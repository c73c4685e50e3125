import {FieldError, withPlace} from "../errors.ts";
import {detect} from "../formats/detect.ts";
import {bytesOf, type FileSet} from "../formats/file-set.ts";
import {readGeoTiff} from "../formats/read-geotiff.ts";
import {crsFromText} from "../geo/crs.ts";
import type {Field} from "../geo/field.ts";
import {boxInLonLat} from "../geo/frame.ts";
import {boxOf} from "../geo/measure.ts";
import type {Grid} from "../grid/grid.ts";
import {scaleRaster} from "../grid/scale-raster.ts";
import {terrainLayers} from "../layers/terrain.ts";
import {METRES_PER_FOOT, METRES_PER_US_SURVEY_FOOT} from "../units/factors.ts";
import {type Host, step} from "./host.ts";
import type {Job} from "./job.ts";
import type {ThemedLayer} from "./make-layers.ts";
import type {Remarks} from "./read-inputs.ts";

const FEET = {m: 1, ft: METRES_PER_FOOT, "us-ft": METRES_PER_US_SURVEY_FOOT};
/** Ground around the field that terrain looks at, metres. */
const MARGIN_M = 150;

/** The layers of the job's elevation file that zones are made from. */
export async function makeTerrain(
  job: Job,
  field: Field,
  files: FileSet,
  grid: Grid,
  mask: Uint8Array,
  host: Host,
  remarks: Remarks,
): Promise<ThemedLayer[]> {
  const {elevation} = job.layers;
  if (!elevation) return [];
  await step(host, `reading ${elevation.file}`);
  const {file} = elevation;
  const crs = elevation.crs === undefined ? undefined : await crsFromText(elevation.crs);
  // A point cloud or a project file is told what it is before it is told what it is not.
  detect(bytesOf(files, file), file);
  const {value: raster, issues} = await readGeoTiff(bytesOf(files, file), file, {
    within: boxInLonLat(field.frame, boxOf(field.outline), MARGIN_M),
    crs,
  });
  remarks.push(...issues);
  const unit = elevation.unit ?? raster.unit;
  if (unit === undefined) {
    throw new FieldError("terrain/no-unit", `${file} does not say whether its heights are metres or feet.`, {
      place: {file},
      hint: 'Say it in the job: "unit": "m", "ft" or "us-ft". A wrong one makes slopes three times too steep or flat.',
    });
  }
  const metresRaster = scaleRaster(raster, FEET[unit as keyof typeof FEET], "m");
  await step(host, "slope and relative elevation");
  const made = withPlace({file}, () =>
    terrainLayers(metresRaster, grid, mask, {...(elevation.smooth !== undefined && {smoothM: elevation.smooth})}),
  );
  remarks.push(...made.issues);
  return [made.relativeElevation, made.slope].map((layer) => ({layer, theme: "terrain" as const}));
}
