import {FieldError, withPlace} from "../errors.ts";
import {detect} from "../formats/detect.ts";
import {bytesOf, type FileSet} from "../formats/file-set.ts";
import {readGeoTiff} from "../formats/read-geotiff.ts";
import {crsFromText} from "../geo/crs.ts";
import type {Field} from "../geo/field.ts";
import {boxInLonLat} from "../geo/frame.ts";
import {boxOf} from "../geo/measure.ts";
import type {Layer} from "../grid/layer.ts";
import type {Raster} from "../grid/raster.ts";
import {scaleRaster} from "../grid/scale-raster.ts";
import type {TerrainName} from "../layers/terrain/names.ts";
import {settleTerrain, type TerrainOptions} from "../layers/terrain/options.ts";
import {type FieldPond, terrainLayers} from "../layers/terrain.ts";
import {METRES_PER_FOOT, METRES_PER_US_SURVEY_FOOT} from "../units/factors.ts";
import {step} from "./host.ts";
import type {Job} from "./job.ts";
import type {LayerWork, ThemedLayer} from "./make-layers.ts";
import type {Remarks} from "./read-inputs.ts";

const FEET = {m: 1, ft: METRES_PER_FOOT, "us-ft": METRES_PER_US_SURVEY_FOOT};
/** Ground around the field that is read at least, metres. */
const LEAST_MARGIN_M = 150;
const USED: readonly TerrainName[] = ["relative elevation", "slope"];

type Elevation = NonNullable<Job["layers"]["elevation"]>;

export interface Terrain {
  /** Layers zones are made from. */
  readonly features: readonly ThemedLayer[];
  /** Layers made to be looked at. */
  readonly shown: readonly Layer[];
  readonly ponds: readonly FieldPond[];
}

/** The layers of the job's elevation file. */
export async function makeTerrain({job, field, files, grid, mask, host, remarks}: LayerWork): Promise<Terrain> {
  const {elevation} = job.layers;
  if (!elevation) return {features: [], shown: [], ponds: []};
  await step(host, `reading ${elevation.file}`);
  const {file, use = USED, show = []} = elevation;
  const make = [...new Set([...use, ...show])];
  const options = optionsOf(elevation);
  const {marginM} = settleTerrain(make, grid.cellSize, options);
  const raster = await readHeights(elevation, field, files, Math.max(LEAST_MARGIN_M, marginM), remarks);
  await step(host, use === USED && show.length === 0 ? "slope and relative elevation" : "terrain");
  const {layers, ponds = [], issues} = withPlace({file}, () => terrainLayers(raster, grid, mask, make, options));
  remarks.push(...issues);
  return {
    features: use.map((name) => ({layer: layers[name] as Layer, theme: "terrain" as const})),
    shown: show.filter((name) => !use.some((used) => used === name)).map((name) => layers[name] as Layer),
    ponds,
  };
}

function optionsOf({smooth, margin, slope, radii, drainage, breach, flow, ponds}: Elevation): TerrainOptions {
  return {
    ...(smooth !== undefined && {smoothM: smooth}),
    ...(margin !== undefined && {marginM: margin}),
    ...(slope !== undefined && {gradient: slope}),
    ...(radii?.relative !== undefined && {relativeRadiusM: radii.relative}),
    ...(radii && {radiiM: {near: radii.near, far: radii.far}}),
    ...(drainage !== undefined && {drainage}),
    ...(breach && {breach: {reachM: breach.reach, depthM: breach.depth}}),
    ...(flow && {flow}),
    ...(ponds && {ponds: {leastDepthM: ponds.leastDepth, leastAreaM2: ponds.leastArea}}),
  };
}

/** Heights in metres, of the field and a margin around it. */
async function readHeights(
  {file, ...elevation}: Elevation,
  field: Field,
  files: FileSet,
  marginM: number,
  remarks: Remarks,
): Promise<Raster> {
  const crs = elevation.crs === undefined ? undefined : await crsFromText(elevation.crs);
  // A point cloud or a project file is told what it is before it is told what it is not.
  detect(bytesOf(files, file), file);
  const {value: raster, issues} = await readGeoTiff(bytesOf(files, file), file, {
    within: boxInLonLat(field.frame, boxOf(field.outline), marginM),
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
  return scaleRaster(raster, FEET[unit as keyof typeof FEET], "m");
}
