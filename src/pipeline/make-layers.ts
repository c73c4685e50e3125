import {FieldError, withPlace} from "../errors.ts";
import {detect} from "../formats/detect.ts";
import {bytesOf, type FileSet} from "../formats/file-set.ts";
import {readGeoTiff} from "../formats/read-geotiff.ts";
import {crsFromText} from "../geo/crs.ts";
import type {Field} from "../geo/field.ts";
import {multiPolygonToPlane, toLonLat} from "../geo/frame.ts";
import {boxOf} from "../geo/measure.ts";
import type {Box, MultiPolygon} from "../geo/shapes.ts";
import {type Grid, gridOver} from "../grid/grid.ts";
import type {ClassLayer, Layer} from "../grid/layer.ts";
import {maskOf} from "../grid/rasterize.ts";
import {scaleRaster} from "../grid/scale-raster.ts";
import {type CleanedYield, cleanYield} from "../layers/clean-yield.ts";
import {gridYield} from "../layers/grid-yield.ts";
import {averageSeasons, normaliseSeason} from "../layers/seasons.ts";
import {soilMapLayers} from "../layers/soil-map.ts";
import {terrainLayers} from "../layers/terrain.ts";
import type {Provenance} from "../provenance.ts";
import {METRES_PER_FOOT, METRES_PER_US_SURVEY_FOOT} from "../units/factors.ts";
import {type Host, step} from "./host.ts";
import type {Job} from "./job.ts";
import {type Remarks, readVector} from "./read-inputs.ts";
import {readYield} from "./read-yield.ts";

/** One layer and the side of the argument it stands for when zones are made. */
export interface ThemedLayer {
  readonly layer: Layer | ClassLayer;
  readonly theme: "yield" | "soil" | "terrain";
}

export interface FieldLayers {
  readonly grid: Grid;
  readonly mask: Uint8Array;
  /** Layers zones are made from, the leading one first. */
  readonly features: readonly ThemedLayer[];
  /** Everything made on the way, for those who look. */
  readonly seasons: readonly {readonly cleaned: CleanedYield; readonly layer: Layer<"% of mean">}[];
  readonly steps: readonly Provenance[];
}

const FEET = {m: 1, ft: METRES_PER_FOOT, "us-ft": METRES_PER_US_SURVEY_FOOT};

/** Every layer of the job on the field's grid. */
export async function makeLayers(
  job: Job,
  field: Field,
  files: FileSet,
  host: Host,
  remarks: Remarks,
): Promise<FieldLayers> {
  const {cellSize, mostCells} = job.layers;
  const grid = gridOver(field.frame, boxOf(field.outline), cellSize, 0, mostCells);
  const mask = maskOf(grid, field.outline);
  const yields = await yieldLayers(job, field, files, grid, mask, host, remarks);
  const soil = await soilLayers(job, field, files, grid, host, remarks);
  const terrain = await terrainOf(job, field, files, grid, mask, host, remarks);
  const features = [...yields.features, ...soil, ...terrain];
  return {
    grid,
    mask,
    features,
    seasons: yields.seasons,
    steps: [...yields.seasons.map(({cleaned}) => cleaned.madeFrom), ...features.map(({layer}) => layer.madeFrom)],
  };
}

async function yieldLayers(
  job: Job,
  field: Field,
  files: FileSet,
  grid: Grid,
  mask: Uint8Array,
  host: Host,
  remarks: Remarks,
): Promise<{features: ThemedLayer[]; seasons: FieldLayers["seasons"]}> {
  const seasons: {cleaned: CleanedYield; layer: Layer<"% of mean">}[] = [];
  for (const source of job.layers.yield) {
    await step(host, `reading ${source.file}`);
    for (const {log, groups} of await readYield(field, files, source, remarks)) {
      await step(host, `cleaning ${log.crop} ${log.season}`);
      const {file} = source;
      const cleaned = withPlace({file}, () =>
        cleanYield(log, field, {...(source.delay !== undefined && {delayS: source.delay})}, groups),
      );
      const gridded = withPlace({file}, () => gridYield(cleaned, grid, mask, {...(groups && {groups})}));
      const relative = normaliseSeason(gridded.layer);
      remarks.push(
        ...[...cleaned.issues, ...gridded.issues, ...relative.issues].map((issue) => ({
          ...issue,
          place: {file, ...issue.place},
        })),
      );
      seasons.push({cleaned, layer: relative.layer});
    }
  }
  if (seasons.length === 0) return {features: [], seasons};
  const average = averageSeasons(seasons.map(({layer}) => layer));
  remarks.push(...average.issues);
  return {features: [{layer: average.mean, theme: "yield"}], seasons};
}

async function soilLayers(
  job: Job,
  field: Field,
  files: FileSet,
  grid: Grid,
  host: Host,
  remarks: Remarks,
): Promise<ThemedLayer[]> {
  const {soilMap} = job.layers;
  if (!soilMap) return [];
  await step(host, `reading ${soilMap.file}`);
  const {features} = await readVector(files, soilMap, remarks);
  const polygons = features.flatMap(({geometry, properties}) => {
    if (geometry.type !== "Polygon" && geometry.type !== "MultiPolygon") return [];
    const parts = geometry.type === "Polygon" ? [geometry.coordinates] : geometry.coordinates;
    const shape: MultiPolygon = multiPolygonToPlane(field.frame, parts);
    return [{shape, properties}];
  });
  const made = withPlace({file: soilMap.file}, () =>
    soilMapLayers(field, grid, polygons, {
      classField: soilMap.class,
      numeric: soilMap.numeric.map(({column, label, unit}) => ({field: column, label, unit})),
      name: `soil map ${soilMap.file.split("/").at(-1)}`,
    }),
  );
  remarks.push(...made.issues);
  return [made.classes, ...made.numeric].map((layer) => ({layer, theme: "soil" as const}));
}

async function terrainOf(
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
  const {value: raster, issues} = await readGeoTiff(bytesOf(files, file), file, {within: boxAround(field), crs});
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

/** Ground around the field that terrain looks at, metres. */
const MARGIN_M = 150;

function boxAround(field: Field): Box {
  const {west, south, east, north} = boxOf(field.outline);
  const corners = [
    [west - MARGIN_M, south - MARGIN_M],
    [east + MARGIN_M, south - MARGIN_M],
    [east + MARGIN_M, north + MARGIN_M],
    [west - MARGIN_M, north + MARGIN_M],
  ].map(([x, y]) => toLonLat(field.frame, {x: x as number, y: y as number}));
  const lons = corners.map(([lon]) => lon);
  const lats = corners.map(([, lat]) => lat);
  return {west: Math.min(...lons), south: Math.min(...lats), east: Math.max(...lons), north: Math.max(...lats)};
}
