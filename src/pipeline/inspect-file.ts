import {FieldError, type Issue, withPlace} from "../errors.ts";
import {detect} from "../formats/detect.ts";
import {bytesOf, type FileSet} from "../formats/file-set.ts";
import {listGeoPackage} from "../formats/geopackage/read-geopackage.ts";
import {readGeoTiff} from "../formats/read-geotiff.ts";
import {readTable} from "../formats/read-table.ts";
import {readText} from "../formats/text.ts";
import {crsFromText} from "../geo/crs.ts";
import type {Field} from "../geo/field.ts";
import {loadGeos} from "../geo/geos.ts";
import {formatNumber} from "../units/format.ts";
import {parseNumber} from "../units/number.ts";
import {filesOf} from "./files-of.ts";
import {inspectGpx} from "./inspect-gpx.ts";
import {inspectShapes, remarkLines, type ShapesOptions} from "./inspect-shapes.ts";
import {inspectTaskData} from "./inspect-task-data.ts";
import {proposeReading} from "./propose-reading.ts";
import {guideName} from "./rate-options.ts";
import {fieldFrom, readVector, sqliteFor} from "./read-inputs.ts";
import {readJob} from "./read-job.ts";

/** What a file holds, in lines for a person and as facts for a machine. */
export interface FileFindings {
  readonly kind: string;
  readonly lines: readonly string[];
  readonly facts: Readonly<Record<string, unknown>>;
  /** Severity "error": the file would not do what it is for. */
  readonly issues: readonly Issue[];
}

export interface InspectFileOptions {
  /** Coordinate system of a file that does not say. */
  readonly crs?: string | undefined;
  /** Boundary file of the field that rates are said to be for. */
  readonly field?: {readonly files: FileSet; readonly file: string} | undefined;
  /** Name of the rate column, where its heading does not say that it is one. */
  readonly rate?: string | undefined;
}

/**
 * Reads any input or output and says what it holds. A vector file with a rate column is looked over as a prescription.
 *
 * @throws {FieldError} when it cannot be read at all.
 */
export async function inspectFile(
  files: FileSet,
  name: string,
  options: InspectFileOptions = {},
): Promise<FileFindings> {
  await loadGeos();
  const kind = detect(bytesOf(files, name), name);
  const field = options.field && (await boundaryOf(options.field));
  const about = {field, rate: options.rate};
  switch (kind) {
    case "csv":
      return inspectTable(files, name);
    case "gpx":
      return inspectGpx(files, name);
    case "geotiff":
      return inspectRaster(files, name, options.crs);
    case "job":
    case "json":
      return inspectJson(files, name, kind);
    case "geopackage":
      return inspectGeoPackage(files, name, options.crs, about);
    case "task data":
    case "zipped task data":
      return inspectTaskData(files, name, about);
    default: {
      const remarks: Issue[] = [];
      const set = await readVector(files, {file: name, crs: options.crs}, remarks);
      const outside = kind === "geojson" ? statedOutside(bytesOf(files, name), name) : undefined;
      return inspectShapes(name, set, remarks, {...about, outside});
    }
  }
}

async function boundaryOf({files, file}: {readonly files: FileSet; readonly file: string}): Promise<Field> {
  const remarks: Issue[] = [];
  const {features} = await readVector(files, {file}, remarks);
  return fieldFrom("the field", file, features, remarks);
}

/** What our own GeoJSON says of ground outside its polygons. */
function statedOutside(bytes: Uint8Array, name: string): string | undefined {
  try {
    const said = JSON.parse(readText(bytes, name).value.replace(/^\uFEFF/, "")) as {
      loamwright?: {products?: {analysis?: unknown; outsideLbPerAcre?: unknown}[]};
    };
    const products = said.loamwright?.products?.filter(({outsideLbPerAcre}) => typeof outsideLbPerAcre === "number");
    if (!products || products.length === 0) return undefined;
    return products.map(({analysis, outsideLbPerAcre}) => `${analysis} ${outsideLbPerAcre} lb/ac`).join(", ");
  } catch {
    return undefined;
  }
}

/** Every layer of shapes in turn; tables of attributes by name. */
async function inspectGeoPackage(
  files: FileSet,
  name: string,
  crs: string | undefined,
  about: ShapesOptions,
): Promise<FileFindings> {
  const host = await sqliteFor(files, name);
  const {value: tables, issues: found} = withPlace({file: name}, () =>
    listGeoPackage(host, bytesOf(files, name), name),
  );
  const lines = [`a GeoPackage: ${tables.map(({title, count}) => `${title} (${formatNumber(count)})`).join(", ")}`];
  const issues: Issue[] = [...found];
  const layers: unknown[] = [];
  for (const {name: layer, kind, count} of tables) {
    if (kind === "attributes") continue;
    lines.push(`layer ${layer}:`);
    if (count === 0) {
      lines.push("  nothing");
      continue;
    }
    const remarks: Issue[] = [];
    const set = await readVector(files, {file: name, layer, crs}, remarks);
    const findings = inspectShapes(`${layer} of ${name}`, set, remarks, about);
    lines.push(...findings.lines.map((line) => `  ${line}`));
    issues.push(...findings.issues);
    layers.push({layer, ...findings.facts});
  }
  return {kind: "geopackage", lines: [...lines, ...remarkLines(found)], facts: {layers}, issues};
}

function inspectTable(files: FileSet, name: string): FileFindings {
  const {value: table, issues} = readTable(bytesOf(files, name), name);
  const {isYield, isLab, readAs} = proposeReading(table);
  const columns = table.header.map((heading, i) => {
    const cells = table.rows.map((row) => (row[i] as string).trim()).filter((cell) => cell !== "");
    const numbers = cells.map((cell) => parseNumber(cell)).filter((n) => !Number.isNaN(n));
    const numeric = cells.length > 0 && numbers.length >= 0.9 * cells.length;
    const [least, most] = numbers.reduce(([a, b], n) => [Math.min(a, n), Math.max(b, n)], [Infinity, -Infinity]);
    const range = numeric ? `${least} to ${most}` : `text such as "${cells[0] ?? ""}"`;
    const {readAs: role, unit = ""} = readAs(heading);
    const meaning = role === "" || role.includes(unit) ? role : `${role}, ${unit}`;
    return {heading, filled: cells.length, numeric, range: cells.length === 0 ? "nothing" : range, readAs: meaning};
  });
  const what = isYield
    ? "a table, by its headings a yield log"
    : isLab
      ? "a table, by its headings a lab report"
      : "a table";
  const lines = [
    `${what}: ${formatNumber(table.rows.length)} rows, ${table.header.length} columns`,
    ...columns.map(
      ({heading, filled, range, readAs: meaning}) =>
        `${heading}: ${formatNumber(filled)} filled, ${range}${meaning && `; taken for ${meaning}`}`,
    ),
    ...remarkLines(issues),
  ];
  return {kind: "csv", lines, facts: {rows: table.rows.length, columns}, issues};
}

async function inspectRaster(files: FileSet, name: string, crsName: string | undefined): Promise<FileFindings> {
  const crs = crsName === undefined ? undefined : await crsFromText(crsName);
  const {value: raster, issues} = await readGeoTiff(bytesOf(files, name), name, {crs});
  let [least, most, empty] = [Infinity, -Infinity, 0];
  for (const value of raster.values) {
    if (Number.isNaN(value)) empty++;
    else {
      least = Math.min(least, value);
      most = Math.max(most, value);
    }
  }
  const range = least <= most ? `values ${sevenFigures(least)} to ${sevenFigures(most)}` : "no values";
  const facts = {
    cols: raster.cols,
    rows: raster.rows,
    crs: raster.crs.name,
    cellWidth: raster.cellWidth,
    cellHeight: raster.cellHeight,
    unit: raster.unit ?? null,
    least,
    most,
    emptyCells: empty,
  };
  const lines = [
    `a raster: ${raster.cols} × ${raster.rows} cells of ${raster.cellWidth} × ${raster.cellHeight} ${raster.crs.units}, ${raster.crs.name}`,
    `${range}, unit ${raster.unit ?? "not stated"}, ${formatNumber(empty)} cells without data`,
    ...remarkLines(issues),
  ];
  return {kind: "geotiff", lines, facts, issues};
}

/** As many as a number of four bytes holds. */
const sevenFigures = (value: number): number => Number(value.toPrecision(7));

function inspectJson(files: FileSet, name: string, kind: "job" | "json"): FileFindings {
  const {value: text} = readText(bytesOf(files, name), name);
  // Our own records say what they are; what does not is a job to be checked.
  const json = parseOrExplain(text, name);
  const said = typeof json === "object" && json !== null && "kind" in json ? String(json.kind) : undefined;
  if (kind === "json" || said !== undefined) {
    const what = said ?? "JSON";
    return {kind: "json", lines: [`${what}, not a file of shapes`], facts: {kind: what}, issues: []};
  }
  const job = readJob(text, name);
  const lines = [
    `a job for ${job.field.name}: ${job.strategies.join(", ")}`,
    `reads ${filesOf(job).join(", ")}`,
    job.rates
      ? `rates by ${guideName(job.rates)} for ${job.rates.crops.map(({crop}) => crop).join(" and ")}`
      : "no rates",
  ];
  return {kind, lines, facts: {field: job.field.name, reads: filesOf(job)}, issues: []};
}

function parseOrExplain(text: string, name: string): unknown {
  try {
    return JSON.parse(text.replace(/^\uFEFF/, ""));
  } catch (error) {
    throw new FieldError("json/not-json", `${name} is not JSON: ${(error as Error).message}.`, {
      place: {file: name},
      hint: "Check the commas, quotes and brackets near there.",
    });
  }
}
