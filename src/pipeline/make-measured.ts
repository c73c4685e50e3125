import {FieldError, withPlace} from "../errors.ts";
import {detect} from "../formats/detect.ts";
import {bytesOf, type FileSet} from "../formats/file-set.ts";
import {readGeoTiff} from "../formats/read-geotiff.ts";
import {readPlainPoints} from "../formats/read-plain-points.ts";
import {readPoints} from "../formats/read-points.ts";
import {crsFromText} from "../geo/crs.ts";
import type {Field} from "../geo/field.ts";
import {boxInLonLat, columnsToPlane, toPlane} from "../geo/frame.ts";
import {boxOf} from "../geo/measure.ts";
import {interpolatePoints} from "../layers/interpolate/interpolate-points.ts";
import {rasterLayer} from "../layers/raster-layer.ts";
import {step} from "./host.ts";
import type {Job} from "./job.ts";
import type {LayerWork, ThemedLayer} from "./make-layers.ts";
import {type Remarks, readRows, readVector, remarksAt} from "./read-inputs.ts";

type PointsFile = Job["layers"]["points"][number];

/** Rasters and points of anything measured, as layers with the theme the job gives them. */
export async function makeMeasured({job, field, files, grid, mask, host, remarks}: LayerWork): Promise<ThemedLayer[]> {
  const made: ThemedLayer[] = [];
  for (const {file, label, unit, theme, weight, ...source} of job.layers.rasters) {
    await step(host, `reading ${file}`);
    const crs = source.crs === undefined ? undefined : await crsFromText(source.crs);
    const within = boxInLonLat(field.frame, boxOf(field.outline), MARGIN_M);
    const {value: raster, issues} = await readGeoTiff(bytesOf(files, file), file, {within, crs});
    const {layer, issues: doubts} = withPlace({file}, () =>
      rasterLayer(raster, grid, mask, {id: idOf(label, made), label, unit}),
    );
    remarks.push(...remarksAt({file}, [...issues, ...doubts]));
    made.push({layer, theme, ...(weight !== undefined && {weight})});
  }
  for (const source of job.layers.points) {
    const {file, label, unit, theme, weight, method} = source;
    await step(host, `reading ${file}`);
    const {x, y, values} = await valuesAtPlaces(field, files, source, remarks);
    const {layer, issues} = withPlace({file}, () =>
      interpolatePoints({id: idOf(label, made), label, unit, x, y, values}, grid, mask, {method, seed: job.seed}),
    );
    remarks.push(...remarksAt({file}, issues));
    made.push({layer, theme, ...(weight !== undefined && {weight})});
  }
  return made;
}

/** Ground around the field that a raster's cells are averaged over, metres. */
const MARGIN_M = 50;

function idOf(label: string, made: readonly ThemedLayer[]): string {
  const id = label
    .toLowerCase()
    .replace(/[^a-z0-9]+/g, "-")
    .replace(/^-|-$/g, "");
  if (id !== "" && made.every(({layer}) => layer.id !== id)) return id;
  throw new FieldError("layers/label-twice", `Two layers of the job are called "${label}".`, {
    hint: "Give every raster and every set of points a label of its own.",
  });
}

async function valuesAtPlaces(
  field: Field,
  files: FileSet,
  source: PointsFile,
  remarks: Remarks,
): Promise<{x: Float64Array; y: Float64Array; values: Float64Array}> {
  const {file, column, x: east, y: north} = source;
  if (detect(bytesOf(files, file), file) !== "csv") {
    const {features} = await readVector(files, source, remarks);
    const points = features.flatMap(({geometry, properties}) => {
      if (geometry.type !== "Point") return [];
      const value = properties[column];
      const number = typeof value === "string" && value.trim() !== "" ? Number(value) : value;
      return [{...toPlane(field.frame, geometry.coordinates), value: typeof number === "number" ? number : Number.NaN}];
    });
    return {
      x: Float64Array.from(points, ({x}) => x),
      y: Float64Array.from(points, ({y}) => y),
      values: Float64Array.from(points, ({value}) => value),
    };
  }
  if (east === undefined || north === undefined) {
    throw new FieldError("layers/no-coordinates", `The columns of ${file} that hold positions are not named.`, {
      place: {file},
      hint: 'Give "x" and "y" beside it in the job.',
    });
  }
  const crs = source.crs === undefined ? undefined : await crsFromText(source.crs);
  const mapping = {x: east, y: north, crs, columns: {value: {column, as: "number"}}} as const;
  const {value, issues} = withPlace(
    {file},
    () => readPlainPoints(bytesOf(files, file), file, mapping) ?? readPoints(readRows(files, file, remarks), mapping),
  );
  remarks.push(...issues);
  const places = columnsToPlane(field.frame, value.lon, value.lat);
  return {...places, values: value.numbers.value ?? new Float64Array(places.x.length).fill(Number.NaN)};
}
