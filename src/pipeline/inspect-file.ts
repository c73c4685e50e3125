import {FieldError, type Issue} from "../errors.ts";
import {detect} from "../formats/detect.ts";
import {bytesOf, type FileSet} from "../formats/file-set.ts";
import {readGeoTiff} from "../formats/read-geotiff.ts";
import {readTable} from "../formats/read-table.ts";
import {readText} from "../formats/text.ts";
import {crsFromText} from "../geo/crs.ts";
import type {Feature, FeatureSet} from "../geo/features.ts";
import {frameAround, multiPolygonToPlane} from "../geo/frame.ts";
import {geodesicAreaM2} from "../geo/geodesic.ts";
import {invalidReason, loadGeos} from "../geo/geos.ts";
import type {LonLat, LonLatMultiPolygon} from "../geo/shapes.ts";
import {many} from "../prescription/count-words.ts";
import {inspectRates} from "../prescription/inspect-rates.ts";
import {formatArea, formatNumber} from "../units/format.ts";
import {parseNumber} from "../units/number.ts";
import {filesOf} from "./files-of.ts";
import {guideName} from "./rate-options.ts";
import {readVector} from "./read-inputs.ts";
import {readJob} from "./read-job.ts";

/** What a file holds, in lines for a person and as facts for a machine. */
export interface FileFindings {
  readonly kind: string;
  readonly lines: readonly string[];
  readonly facts: Readonly<Record<string, unknown>>;
  /** Severity "error": the file would not do what it is for. */
  readonly issues: readonly Issue[];
}

/**
 * Reads any input or output and says what it holds. A vector file with a rate column is looked over as a prescription.
 *
 * @throws {FieldError} when it cannot be read at all.
 */
export async function inspectFile(files: FileSet, name: string, crs?: string): Promise<FileFindings> {
  await loadGeos();
  const kind = detect(bytesOf(files, name), name);
  switch (kind) {
    case "csv":
      return inspectTable(files, name);
    case "geotiff":
      return inspectRaster(files, name, crs);
    case "job":
    case "json":
      return inspectJson(files, name, kind);
    default:
      return inspectVector(files, name, crs);
  }
}

function inspectTable(files: FileSet, name: string): FileFindings {
  const {value: table, issues} = readTable(bytesOf(files, name), name);
  const columns = table.header.map((heading, i) => {
    const cells = table.rows.map((row) => (row[i] as string).trim()).filter((cell) => cell !== "");
    const numbers = cells.map((cell) => parseNumber(cell)).filter((n) => !Number.isNaN(n));
    const numeric = cells.length > 0 && numbers.length >= 0.9 * cells.length;
    const [least, most] = numbers.reduce(([a, b], n) => [Math.min(a, n), Math.max(b, n)], [Infinity, -Infinity]);
    const range = numeric ? `${least} to ${most}` : `text such as "${cells[0] ?? ""}"`;
    return {heading, filled: cells.length, numeric, range: cells.length === 0 ? "nothing" : range};
  });
  const lines = [
    `a table: ${formatNumber(table.rows.length)} rows, ${table.header.length} columns`,
    ...columns.map(({heading, filled, range}) => `${heading}: ${formatNumber(filled)} filled, ${range}`),
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
    `values ${least} to ${most}, unit ${raster.unit ?? "not stated"}, ${formatNumber(empty)} cells without data`,
    ...remarkLines(issues),
  ];
  return {kind: "geotiff", lines, facts, issues};
}

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

async function inspectVector(files: FileSet, name: string, crs: string | undefined): Promise<FileFindings> {
  const issues: Issue[] = [];
  const set = await readVector(files, {file: name, crs}, issues);
  if (set.features.length === 0) {
    throw new FieldError("file/no-shapes", `${name} holds no shapes.`, {place: {file: name}, hint: "Export it again."});
  }
  const counts = new Map<string, number>();
  for (const {geometry} of set.features) counts.set(geometry.type, (counts.get(geometry.type) ?? 0) + 1);
  const shapes = set.features.flatMap(polygonsOf);
  const area = shapes.reduce((sum, shape) => sum + geodesicAreaM2(shape), 0);
  const [west, south, east, north] = extentOf(set);
  const lines = [
    [...counts].map(([type, count]) => `${formatNumber(count)} ${type}`).join(", "),
    `longitude ${west.toFixed(6)} to ${east.toFixed(6)}, latitude ${south.toFixed(6)} to ${north.toFixed(6)}`,
  ];
  if (shapes.length > 0) lines.push(`${formatArea(area)} (${formatArea(area, "metric", 2)})`);
  const columns = [...new Set(set.features.flatMap(({properties}) => Object.keys(properties)))];
  lines.push(columns.length > 0 ? `columns: ${columns.join(", ")}` : "no columns");
  const facts: Record<string, unknown> = {counts: Object.fromEntries(counts), areaM2: area, columns};
  if (shapes.length === set.features.length) {
    const rates = rateLines(set, lines, issues);
    if (rates) facts.rates = rates;
    else lines.push(...validityLines(shapes, issues));
  }
  lines.push(...remarkLines(issues));
  return {kind: "shapes", lines, facts, issues};
}

/** A rate file gets the eye of a prescription; what would spread other than meant is an error there. */
function rateLines(set: FeatureSet, lines: string[], issues: Issue[]): unknown {
  const inspection = inspectRates(set.features);
  const rates = inspection.columns.filter((column) => RATE_HEADING.test(column.name));
  if (rates.length === 0) return undefined;
  for (const rate of rates) {
    lines.push(
      `rate ${rate.name}: ${formatNumber(rate.min, 1)} to ${formatNumber(rate.max, 1)}, mean ${formatNumber(rate.mean, 1)}, total ${formatNumber(rate.total, 1)}`,
    );
  }
  lines.push(
    `${many(inspection.polygons, "polygon")}, ${inspection.invalid.length} invalid, ${many(inspection.overlaps.length, "overlap")}`,
  );
  const beyond = new Set(rates.filter(({max}) => max > MOST_LB_PER_ACRE).map(({name}) => name));
  issues.push(
    ...inspection.issues.map((issue) =>
      issue.code === "prescription/rate-unit" && beyond.has(issue.place?.column ?? "")
        ? {...issue, severity: "error" as const}
        : issue,
    ),
  );
  return inspection;
}

/** Six tons, a heavy dressing of lime: more is a number in another unit. Common practice, no source. */
const MOST_LB_PER_ACRE = 12_000;

/** Headings of rate columns, ours and other people's: a soil map's percentages are no rates. */
const RATE_HEADING = /rate|lb.?(s?.?\/.?)?ac|kg.?\/?.?ha|gal.?ac|dose|target/i;

function validityLines(shapes: readonly LonLatMultiPolygon[], issues: Issue[]): string[] {
  const frame = frameAround(shapes.flat(3));
  const bad = shapes.flatMap((shape, i) => {
    const reason = invalidReason(multiPolygonToPlane(frame, shape));
    return reason ? [{number: i + 1, reason: reason.reason.toLowerCase()}] : [];
  });
  for (const {number, reason} of bad) {
    issues.push({code: "file/invalid-shape", severity: "error", message: `Shape ${number} is not valid: ${reason}.`});
  }
  return [bad.length === 0 ? "all shapes are valid" : `${bad.length} shapes are not valid`];
}

function polygonsOf({geometry}: Feature): LonLatMultiPolygon[] {
  if (geometry.type === "Polygon") return [[geometry.coordinates]];
  return geometry.type === "MultiPolygon" ? [geometry.coordinates] : [];
}

function extentOf(set: FeatureSet): [number, number, number, number] {
  let [west, south, east, north] = [Infinity, Infinity, -Infinity, -Infinity];
  const visit = (coordinates: unknown): void => {
    if (!Array.isArray(coordinates)) return;
    if (typeof coordinates[0] === "number") {
      const [lon, lat] = coordinates as unknown as LonLat;
      west = Math.min(west, lon);
      east = Math.max(east, lon);
      south = Math.min(south, lat);
      north = Math.max(north, lat);
    } else for (const inner of coordinates) visit(inner);
  };
  for (const {geometry} of set.features) visit(geometry.coordinates);
  return [west, south, east, north];
}

function remarkLines(issues: readonly Issue[]): string[] {
  return issues.map(({severity, message, hint}) => `${severity}: ${message}${hint ? ` ${hint}` : ""}`);
}
