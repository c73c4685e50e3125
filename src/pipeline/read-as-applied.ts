import {FieldError, withPlace} from "../errors.ts";
import {detect} from "../formats/detect.ts";
import {bytesOf, type FileSet} from "../formats/file-set.ts";
import {headerState} from "../formats/header-state.ts";
import {type PointColumn, readPoints} from "../formats/read-points.ts";
import {crsFromText} from "../geo/crs.ts";
import type {Feature} from "../geo/features.ts";
import type {Field} from "../geo/field.ts";
import {columnsToPlane, multiPolygonToPlane} from "../geo/frame.ts";
import type {AppliedLog, AppliedPolygon} from "../prescription/as-applied/applied-log.ts";
import {joinLogs} from "../prescription/as-applied/join-logs.ts";
import {lbPerAcrePer, rateUnitInHeading} from "../prescription/as-applied/rate-unit.ts";
import type {Table} from "../table.ts";
import {KILOGRAMS_PER_POUND} from "../units/factors.ts";
import type {AppliedFiles} from "./job/as-applied.ts";
import type {ColumnChoice} from "./job.ts";
import {type AppliedColumns, proposeAppliedColumns} from "./propose-applied-columns.ts";
import {type Remarks, readRows, readVector} from "./read-inputs.ts";
import {readMachineLogs} from "./read-machine-logs.ts";

/** What the files of one product hold: records of a machine, or polygons with a rate. */
export type AppliedRecords = {readonly log: AppliedLog} | {readonly polygons: readonly AppliedPolygon[]};

/**
 * The as-applied files of one product, whatever their format, in the field's frame and lb of product per acre.
 *
 * @param lbPerGallon - Weight of a fluid, for rates by volume.
 * @throws {FieldError} `as-applied/mixed-kinds`, `as-applied/no-rate-unit`, `as-applied/states`, and what the readers of
 *   the formats refuse.
 */
export async function readAsApplied(
  field: Field,
  files: FileSet,
  source: AppliedFiles,
  lbPerGallon: number | undefined,
  remarks: Remarks,
): Promise<AppliedRecords> {
  const parts: AppliedRecords[] = [];
  for (const file of source.files) parts.push(await readOne(field, files, source, file, lbPerGallon, remarks));
  const polygons = parts.flatMap((part) => ("polygons" in part ? [part.polygons] : []));
  const logs = parts.flatMap((part) => ("log" in part ? [part.log] : []));
  if (logs.length === 0) return {polygons: polygons.flat()};
  if (polygons.length === 0) return {log: joinLogs(logs)};
  throw new FieldError("as-applied/mixed-kinds", `${source.files.join(" and ")} hold points and polygons.`, {
    hint: "Compare them one at a time.",
  });
}

async function readOne(
  field: Field,
  files: FileSet,
  source: AppliedFiles,
  file: string,
  lbPerGallon: number | undefined,
  remarks: Remarks,
): Promise<AppliedRecords> {
  const kind = detect(bytesOf(files, file), file);
  if (kind === "task data" || kind === "zipped task data") {
    return {log: readMachineLogs(field, files, source, file, lbPerGallon, remarks)};
  }
  if (kind === "csv") {
    return {log: await readTableLog(field, readRows(files, file, remarks), source, lbPerGallon, remarks)};
  }
  const {features} = await readVector(files, {file, layer: source.layer, crs: source.crs}, remarks);
  const shapes = features.filter(({geometry}) => geometry.type === "Polygon" || geometry.type === "MultiPolygon");
  if (shapes.length > 0) {
    const left = features.length - shapes.length;
    if (left > 0) remarks.push(leftOut(file, left));
    return {polygons: polygonsOf(field, shapes, source, file, lbPerGallon)};
  }
  const table = pointRows(features, file);
  return {log: await readTableLog(field, table, {...source, crs: undefined}, lbPerGallon, remarks, true)};
}

/** Points of a vector format as the rows of a table, so that one reader serves all. */
function pointRows(features: readonly Feature[], file: string): Table {
  const points = features.flatMap(({geometry, properties}) =>
    geometry.type === "Point" ? [{at: geometry.coordinates, properties}] : [],
  );
  if (points.length === 0) {
    throw new FieldError("as-applied/no-shapes", `${file} holds no points and no polygons.`, {
      place: {file},
      hint: "Export the log as points or polygons.",
    });
  }
  const keys = [...new Set(points.flatMap(({properties}) => Object.keys(properties)))].filter(
    (key) => key !== LON && key !== LAT,
  );
  return {
    file,
    header: [LON, LAT, ...keys],
    rows: points.map(({at, properties}) => [
      String(at[0]),
      String(at[1]),
      ...keys.map((key) => (properties[key] === null || properties[key] === undefined ? "" : String(properties[key]))),
    ]),
    firstRow: 1,
  };
}

const [LON, LAT] = ["longitude of the shape", "latitude of the shape"];

async function readTableLog(
  field: Field,
  table: Table,
  source: AppliedFiles,
  lbPerGallon: number | undefined,
  remarks: Remarks,
  ofShapes = false,
): Promise<AppliedLog> {
  const columns = source.columns ?? told(table, !ofShapes, remarks);
  const position = ofShapes ? {x: LON, y: LAT} : {x: needed(columns.x, "x", table), y: needed(columns.y, "y", table)};
  const wanted: Record<string, PointColumn> = {};
  const want = (key: string, choice: ColumnChoice | undefined, as: PointColumn["as"]): void => {
    if (choice !== undefined) wanted[key] = {...(typeof choice === "string" ? {column: choice} : choice), as};
  };
  const {rate, mass} = columns;
  if (rate !== undefined) want("rate", typeof rate === "string" ? rate : rate.column, "number");
  else want("mass", mass ?? needed(undefined, "rate", table), "mass");
  want("timeS", columns.time, "time");
  want("swathM", columns.swath, "length");
  want("distanceM", columns.distance, "length");
  want("pass", columns.pass, "text");
  want("machine", columns.machine, "text");
  want("working", columns.state, "text");
  const crs = source.crs === undefined ? undefined : await crsFromText(source.crs);
  const points = withPlace({file: table.file}, () => readPoints(table, {...position, crs, columns: wanted}));
  remarks.push(...points.issues);
  const {lon, lat, numbers, texts} = points.value;
  const factor = rate === undefined ? 1 : withPlace({file: table.file}, () => rateFactor(rate, lbPerGallon));
  const {rate: rates, mass: kilograms, ...rest} = numbers;
  const states = texts.working && withPlace({file: table.file}, () => workingStates(texts.working as string[]));
  return {
    id: table.file,
    ...columnsToPlane(field.frame, lon, lat),
    ...rest,
    ...(rates && {rateLbPerAcre: rates.map((value) => value * factor)}),
    ...(kilograms && {massLb: kilograms.map((kg) => kg / KILOGRAMS_PER_POUND)}),
    ...(texts.pass && {pass: numbered(texts.pass)}),
    ...(texts.machine && {machine: numbered(texts.machine)}),
    ...(states && {working: states}),
  };
}

function told(table: Table, needsPosition: boolean, remarks: Remarks): AppliedColumns {
  const columns = proposeAppliedColumns(table, needsPosition);
  remarks.push({
    code: "as-applied/columns-by-heading",
    severity: "note",
    message: `Columns of ${table.file} were told by their headings: ${Object.entries(columns)
      .map(([role, name]) => `${role} from "${typeof name === "string" ? name : name?.column}"`)
      .join(", ")}.`,
    place: {file: table.file},
    hint: `Fix them in the job if one is wrong: "columns": ${JSON.stringify(columns)}.`,
  });
  return columns;
}

function needed(name: string | undefined, role: string, table: Table): string {
  if (name !== undefined) return name;
  throw new FieldError("as-applied/no-column", `The job does not say which column of ${table.file} is the ${role}.`, {
    place: {file: table.file},
    hint: `Give "${role}" under "columns"; headings are: ${table.header.slice(0, 20).join(", ")}.`,
  });
}

/** lb/ac in one of a column's unit. */
export function rateFactor(choice: ColumnChoice, lbPerGallon: number | undefined): number {
  const name = typeof choice === "string" ? choice : choice.column;
  const unit = typeof choice === "string" ? rateUnitInHeading(name) : choice.unit;
  if (unit !== undefined) return lbPerAcrePer(unit, lbPerGallon);
  throw new FieldError("as-applied/no-rate-unit", `Column "${name}" does not say the unit of its rates.`, {
    place: {column: name},
    hint: `Name it in the job, as in {"column": "${name}", "unit": "lb/ac"}.`,
  });
}

/** A rate as a number; NaN where a cell is empty or no number. */
export function rateIn(value: string | number | boolean | null | undefined): number {
  if (typeof value === "number") return value;
  return typeof value === "string" && value.trim() !== "" ? Number(value) : Number.NaN;
}

function polygonsOf(
  field: Field,
  shapes: readonly Feature[],
  source: AppliedFiles,
  file: string,
  lbPerGallon: number | undefined,
): AppliedPolygon[] {
  const header = [...new Set(shapes.flatMap(({properties}) => Object.keys(properties)))];
  const table = {file, header, rows: [], firstRow: 1};
  const rate = source.columns ? source.columns.rate : proposeAppliedColumns(table, false).rate;
  const choice = rate ?? needed(undefined, "rate", table);
  const name = typeof choice === "string" ? choice : choice.column;
  if (!header.includes(name)) needed(undefined, `rate (there is no "${name}")`, table);
  const factor = withPlace({file}, () => rateFactor(choice, lbPerGallon));
  return shapes.flatMap(({geometry, properties}) => {
    const shape =
      geometry.type === "Polygon"
        ? [geometry.coordinates]
        : geometry.type === "MultiPolygon"
          ? geometry.coordinates
          : [];
    return [{shape: multiPolygonToPlane(field.frame, shape), rateLbPerAcre: factor * rateIn(properties[name])}];
  });
}

function workingStates(texts: readonly string[]): Float64Array {
  return Float64Array.from(texts, (text) => {
    const state = headerState(text);
    if (state !== undefined) return state;
    throw new FieldError("as-applied/states", `"${text}" does not say whether the machine worked.`, {
      hint: "Leave the column of states out, or write them as on and off.",
    });
  });
}

/** Different texts as different numbers, in the order of their first appearance. */
function numbered(texts: readonly string[]): Float64Array {
  const numbers = new Map<string, number>();
  return Float64Array.from(texts, (text) => {
    if (!numbers.has(text)) numbers.set(text, numbers.size);
    return numbers.get(text) as number;
  });
}

function leftOut(file: string, count: number) {
  return {
    code: "as-applied/not-polygons",
    severity: "warning" as const,
    message: `${count} shapes of ${file} are no polygons and were left out.`,
    place: {file},
  };
}
