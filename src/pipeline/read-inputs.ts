import {FieldError, type Issue, isFieldError, type Place, withPlace, withPlaceAsync} from "../errors.ts";
import {detect} from "../formats/detect.ts";
import {bytesOf, type FileSet, type Read} from "../formats/file-set.ts";
import {readGeoPackage} from "../formats/geopackage/read-geopackage.ts";
import type {SqliteHost} from "../formats/geopackage/sqlite.ts";
import {readTaskData} from "../formats/iso11783/read-task-data.ts";
import type {TaskData} from "../formats/iso11783/task-data.ts";
import {pickTaskLayer} from "../formats/iso11783/task-layers.ts";
import {readGeoJson} from "../formats/read-geojson.ts";
import {readShapefile} from "../formats/read-shapefile.ts";
import {readTable} from "../formats/read-table.ts";
import {isZip} from "../formats/signatures.ts";
import {unzip} from "../formats/zip.ts";
import {crsFromText} from "../geo/crs.ts";
import type {Feature, FeatureSet} from "../geo/features.ts";
import {type Field, makeField} from "../geo/field.ts";
import type {LonLatMultiPolygon} from "../geo/shapes.ts";
import type {Table} from "../table.ts";
import {SQUARE_METRES_PER_ACRE} from "../units/factors.ts";
import {formatArea, formatNumber} from "../units/format.ts";
import type {Job} from "./job.ts";

/** Collects the remarks of every reader on the way. */
export type Remarks = Issue[];

/** Says where remarks belong that a stage made without knowing of files. */
export function remarksAt(place: Place, issues: readonly Issue[]): Issue[] {
  return issues.map((issue) => ({...issue, place: {...place, ...issue.place}}));
}

interface VectorSource {
  readonly file: string;
  readonly layer?: string | undefined;
  readonly crs?: string | undefined;
}

/**
 * A vector file, whatever its format. Of files with several layers (zips, GeoPackages, task data) the one named.
 *
 * @throws {FieldError} what its reader refuses; `input/not-vector`, `input/no-sqlite`.
 */
export async function readVector(files: FileSet, source: VectorSource, remarks: Remarks): Promise<FeatureSet> {
  const {file, layer} = source;
  const bytes = bytesOf(files, file);
  const kind = detect(bytes, file);
  const crs = source.crs === undefined ? undefined : await crsFromText(source.crs);
  if (kind === "shapefile" || kind === "zip") {
    const {value, issues} = withPlace({file}, () => readShapefile(files, file, {layer, crs}));
    remarks.push(...issues);
    return value;
  }
  if (kind === "geojson" || kind === "json" || kind === "job") {
    const {value, issues} = await readGeoJson(bytes, file, {crs});
    remarks.push(...issues);
    return value;
  }
  if (kind === "geopackage") {
    const {value, issues} = await readGeoPackage(await sqliteFor(files, file), bytes, file, {layer, crs});
    remarks.push(...issues);
    return value;
  }
  if (kind === "task data" || kind === "zipped task data") {
    const {value, issues} = readTasks(files, file);
    remarks.push(...issues.map((issue) => ({...issue, place: {file, ...issue.place}})));
    return pickTaskLayer(value, layer, file);
  }
  throw new FieldError(
    "input/not-vector",
    `${file} holds no shapes: it is ${kind === "csv" ? "a table" : kind === "gpx" ? "points and tracks of a receiver" : "a raster"}.`,
    {
      place: {file},
      hint: "Give a GeoJSON file or a shapefile.",
    },
  );
}

/** The engine that opens databases among the files. @throws {FieldError} `input/no-sqlite`. */
export function sqliteFor({sqlite}: FileSet, file: string): Promise<SqliteHost> {
  if (sqlite) return sqlite();
  throw new FieldError("input/no-sqlite", `${file} is a GeoPackage, and nothing here can open databases.`, {
    place: {file},
    hint: "Export the layer as GeoJSON or shapefile.",
  });
}

/** Task data from its zip, or from the folder that holds its main document. @throws {FieldError} as the reader. */
export function readTasks(files: FileSet, file: string): Read<TaskData> {
  return withPlace({file}, () => readTaskData(taskFiles(files, file)));
}

/** The members of the zip, or everything in the folder of the main document. */
export function taskFiles(files: FileSet, file: string): FileSet {
  const bytes = bytesOf(files, file);
  if (isZip(bytes)) return unzip(bytes, file);
  const folder = file.slice(0, Math.max(file.lastIndexOf("/"), file.lastIndexOf("\\")) + 1);
  const inside = (name: string): boolean => name.startsWith(folder) && !/[\\/]/.test(name.slice(folder.length));
  return new Map([...files].filter(([name]) => inside(name)));
}

/** The rows of a table. @throws {FieldError} what its reader refuses; `file/unknown`, `input/not-table`. */
export function readRows(files: FileSet, file: string, remarks: Remarks, columns?: readonly string[]): Table {
  const bytes = bytesOf(files, file);
  const kind = detect(bytes, file);
  if (kind !== "csv") {
    throw new FieldError("input/not-table", `${file} holds no table: it is a ${kind} file.`, {
      place: {file},
      hint: "Give a CSV file.",
    });
  }
  const {value, issues} = readTable(bytes, file, {columns});
  remarks.push(...issues);
  return value;
}

/** The field of a job, its boundary from all polygons of the boundary file. */
export async function readField(job: Job, files: FileSet, remarks: Remarks): Promise<Field> {
  const {name, boundary, statedArea} = job.field;
  const source = typeof boundary === "string" ? {file: boundary} : boundary;
  const {features} = await readVector(files, source, remarks);
  const field = await fieldFrom(name, source.file, features, remarks);
  if (statedArea !== undefined) checkStated(field, statedArea, remarks);
  return field;
}

/**
 * A field from all polygons of a boundary file.
 *
 * @throws {FieldError} `boundary/not-polygons`, and what `makeField` refuses.
 */
export async function fieldFrom(
  name: string,
  file: string,
  features: readonly Feature[],
  remarks: Remarks,
): Promise<Field> {
  const polygons = features.flatMap(({geometry}): LonLatMultiPolygon => {
    if (geometry.type === "Polygon") return [geometry.coordinates];
    return geometry.type === "MultiPolygon" ? geometry.coordinates : [];
  });
  if (polygons.length === 0) {
    const [first] = features;
    throw new FieldError(
      "boundary/not-polygons",
      first ? `${file} holds ${first.geometry.type} shapes, not polygons.` : `${file} holds no shapes.`,
      {place: {file}, hint: "Give the boundary as a polygon; a closed line must be exported as one."},
    );
  }
  const {field, issues} = await withPlaceAsync({file}, () => fieldOrCrossings(name, polygons));
  remarks.push(...issues.map((issue) => ({...issue, place: {file, ...issue.place}})));
  return field;
}

/** A boundary that crosses itself is refused with every crossing named, so that it is redrawn once. */
async function fieldOrCrossings(name: string, polygons: LonLatMultiPolygon): Promise<ReturnType<typeof makeField>> {
  try {
    return makeField(idOf(name), name, polygons);
  } catch (error) {
    if (!isFieldError(error) || error.code !== "boundary/crosses-itself") throw error;
    const {crossingsOf} = await import("../geo/crossings.ts");
    const issues = crossingsOf(polygons)
      .slice(0, MOST_CROSSINGS)
      .map(
        ([lon, lat]): Issue => ({
          code: "boundary/crossing",
          severity: "error",
          message: `The boundary crosses itself at ${lon.toFixed(6)}, ${lat.toFixed(6)}.`,
          place: {lon, lat},
        }),
      );
    throw new FieldError(error.code, error.message, {place: error.place, hint: error.hint, issues});
  }
}

const MOST_CROSSINGS = 20;

/** Acres that differ from what the grower says are the commonest sign of a wrong or old boundary. */
function checkStated(field: Field, statedArea: number, remarks: Remarks): void {
  const difference = (field.area - statedArea) / statedArea;
  if (Math.abs(difference) <= MOST_DIFFERENCE) return;
  const acres = formatNumber(Math.abs(field.area - statedArea) / SQUARE_METRES_PER_ACRE, 1);
  remarks.push({
    code: "boundary/stated-area",
    severity: "warning",
    message: `The boundary holds ${formatArea(field.area)}, ${acres} ac ${difference > 0 ? "more" : "less"} than the ${formatArea(statedArea)} stated.`,
    hint: "Check that it is this year's boundary and this field.",
  });
}

const MOST_DIFFERENCE = 0.02;

const idOf = (name: string): string =>
  name
    .toLowerCase()
    .replace(/[^a-z0-9]+/g, "-")
    .replace(/^-|-$/g, "") || "field";
