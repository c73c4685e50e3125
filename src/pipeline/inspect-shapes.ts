import {FieldError, type Issue} from "../errors.ts";
import type {Feature, FeatureSet} from "../geo/features.ts";
import type {Field} from "../geo/field.ts";
import {frameAround, multiPolygonToPlane} from "../geo/frame.ts";
import {geodesicAreaM2} from "../geo/geodesic.ts";
import {invalidReason} from "../geo/geos.ts";
import type {LonLat, LonLatMultiPolygon} from "../geo/shapes.ts";
import {many} from "../prescription/count-words.ts";
import {inspectRates, type RateInspection} from "../prescription/inspect-rates.ts";
import type {RateColumn} from "../prescription/rate-columns.ts";
import {unreadableReason} from "../prescription/unreadable-shape.ts";
import {KG_PER_HA_PER_LB_PER_ACRE, SQUARE_METRES_PER_ACRE, SQUARE_METRES_PER_HECTARE} from "../units/factors.ts";
import {formatArea, formatNumber, formatShort} from "../units/format.ts";
import type {FileFindings} from "./inspect-file.ts";

export interface ShapesOptions {
  /** The field the file is said to be for. */
  readonly field?: Field | undefined;
  /** Name of the rate column, where its heading does not say that it is one. */
  readonly rate?: string | undefined;
  /** Units of columns whose unit the format fixes. */
  readonly units?: ReadonlyMap<string, string> | undefined;
  /** What the file says of ground outside its polygons, in words; undefined when it says nothing. */
  readonly outside?: string | undefined;
}

/**
 * What a layer of shapes holds. A layer of polygons with a rate column is looked over as a prescription; what would
 * spread other than meant is an error there.
 *
 * @param found - Remarks of the reader.
 * @throws {FieldError} `file/no-shapes`, `file/no-such-column`, and what `inspectRates` refuses.
 */
export function inspectShapes(
  file: string,
  {features}: FeatureSet,
  found: readonly Issue[],
  options: ShapesOptions,
): FileFindings {
  if (features.length === 0) {
    throw new FieldError("file/no-shapes", `${file} holds no shapes.`, {
      place: {file},
      hint: "Export it again.",
      issues: [...found],
    });
  }
  const counts = new Map<string, number>();
  for (const {geometry} of features) counts.set(geometry.type, (counts.get(geometry.type) ?? 0) + 1);
  const shapes = features.flatMap(polygonsOf);
  const readable = shapes.filter((shape) => unreadableReason(shape) === undefined);
  const area = readable.reduce((sum, shape) => sum + geodesicAreaM2(shape), 0);
  const [west, south, east, north] = extentOf(features);
  const lines = [
    [...counts].map(([type, count]) => `${formatNumber(count)} ${type}`).join(", "),
    `longitude ${west.toFixed(6)} to ${east.toFixed(6)}, latitude ${south.toFixed(6)} to ${north.toFixed(6)}`,
  ];
  if (shapes.length > 0) lines.push(`${formatArea(area)} (${formatArea(area, "metric", 2)})`);
  const columns = [...new Set(features.flatMap(({properties}) => Object.keys(properties)))];
  lines.push(columns.length > 0 ? `columns: ${columns.join(", ")}` : "no columns");
  const facts: Record<string, unknown> = {counts: Object.fromEntries(counts), areaM2: area, columns};
  const issues: Issue[] = [];
  const rated = shapes.length > 0 && columns.some((name) => name === options.rate || RATE_HEADING.test(name));
  if (options.rate !== undefined && !columns.includes(options.rate)) {
    throw new FieldError("file/no-such-column", `${file} has no column ${options.rate}.`, {
      place: {file},
      hint: `It has ${columns.join(", ") || "none"}.`,
    });
  }
  if (rated) {
    const {inspection, receipt, doubts} = lookOver(features, options);
    lines.push(...receipt);
    issues.push(...found.map(asRateFile), ...doubts);
    facts.rates = inspection;
    facts.outside = options.outside ?? null;
  } else {
    issues.push(...found);
    if (shapes.length === features.length) lines.push(...validityLines(shapes, issues));
  }
  return {kind: "shapes", lines: [...lines, ...remarkLines(issues)], facts, issues};
}

/** A remark as one line. */
export function remarkLines(issues: readonly Issue[]): string[] {
  return issues.map(({severity, message, hint}) => `${severity}: ${message}${hint ? ` ${hint}` : ""}`);
}

/**
 * Doubts about weights whose unit the format fixes: too much for any product, or so little that numbers of another unit
 * must have been put in.
 */
export function massDoubts(column: string, most: number, unit: string | undefined): Issue[] {
  if (unit !== "lb/ac" || most <= 0 || (most >= LEAST_LB_PER_ACRE && most <= MOST_LB_PER_ACRE)) return [];
  const raw = formatNumber(most * 100 * KG_PER_HA_PER_LB_PER_ACRE);
  return [
    {
      code: "prescription/rate-unit",
      severity: "error",
      message:
        most > MOST_LB_PER_ACRE
          ? `${column} reaches ${formatNumber(most)} lb/ac: too much for any product.`
          : `${column} reaches only ${formatShort(most, 2)} lb/ac (${raw} mg/m²): it looks like ${raw} kg/ha or lb/ac written as if it were mg/m².`,
      place: {column},
      hint: "Ask the sender: ISO 11783-10 counts mass in mg/m², 100 for 1 kg/ha.",
    },
  ];
}

// --- inside ---------------------------------------------------------------------------------------------------

/** Headings of rate columns, ours and other people's: a soil map's percentages are no rates. */
const RATE_HEADING =
  /rate|lb.?(s?.?\/.?)?ac|kg.?\/?.?ha|gal.?ac|dose|target|setpoint|(^|[^a-z])t(on)?s?[^a-z]{0,2}(ac|ha)\b|l[^a-z]?ha\b|seeds?.{0,2}(ac|ha|m2)/i;

/** Six tons, a heavy dressing of lime: more is a number in another unit. Common practice, no source. */
const MOST_LB_PER_ACRE = 12_000;
/** Less than any dry product is spread at. Common practice, no source. */
const LEAST_LB_PER_ACRE = 5;

function lookOver(
  features: readonly Feature[],
  {field, rate, units, outside}: ShapesOptions,
): {inspection: RateInspection; receipt: string[]; doubts: Issue[]} {
  const inspection = inspectRates(features, {field, units});
  const rates = inspection.columns.filter(({name}) => name === rate || RATE_HEADING.test(name));
  const unread = rateHeadings(features, rate).filter((name) => !inspection.columns.some((c) => c.name === name));
  const receipt = [
    ...rates.map(rateLine),
    `${many(inspection.polygons, "polygon")}, ${inspection.invalid.length} invalid, ${many(inspection.overlaps.length, "overlap")}`,
    `outside the polygons: ${outside ?? "the file says no rate; set it on the controller"}`,
  ];
  if (inspection.outsideAcres !== undefined && inspection.uncoveredAcres !== undefined) {
    receipt.push(
      `against ${field?.name}: ${formatNumber(inspection.outsideAcres, 2)} ac outside it, ${formatNumber(inspection.uncoveredAcres, 2)} ac of it in no polygon`,
    );
  }
  const beyond = new Set(rates.filter(isBeyond).map(({name}) => name));
  const doubts = [
    ...inspection.issues.map((issue) =>
      issue.code === "prescription/rate-unit" && beyond.has(issue.place?.column ?? "")
        ? {...issue, severity: "error" as const}
        : issue,
    ),
    ...rates.flatMap(({name, max}) => massDoubts(name, max, units?.get(name))),
    ...unread.map((name) => wordsForRates(name, features)),
  ];
  return {inspection, receipt, doubts: doubts.filter(({code}) => unread.length === 0 || code !== NO_COLUMN)};
}

const NO_COLUMN = "prescription/no-rate-column";

const rateHeadings = (features: readonly Feature[], rate: string | undefined): string[] =>
  [...new Set(features.flatMap(({properties}) => Object.keys(properties)))].filter(
    (name) => name === rate || RATE_HEADING.test(name),
  );

function rateLine({name, min, mean, max, total, unit}: RateColumn): string {
  const amount: Readonly<Record<string, string>> = {
    "lb/ac": `${formatNumber(total, 1)} lb`,
    "ton/ac": `${formatNumber(total, 2)} ton`,
    "gal/ac": `${formatNumber(total, 1)} gal`,
    "seeds/ac": `${formatNumber(total)} seeds`,
    "kg/ha": `${formatNumber((total * SQUARE_METRES_PER_ACRE) / SQUARE_METRES_PER_HECTARE, 1)} kg`,
    "t/ha": `${formatNumber((total * SQUARE_METRES_PER_ACRE) / SQUARE_METRES_PER_HECTARE, 2)} t`,
    "L/ha": `${formatNumber((total * SQUARE_METRES_PER_ACRE) / SQUARE_METRES_PER_HECTARE, 1)} L`,
  };
  const range = `${formatNumber(min, 1)} to ${formatNumber(max, 1)}, mean ${formatNumber(mean, 1)}`;
  const whole = (unit && amount[unit]) ?? `${formatNumber(total, 1)} (lb, if it is in lb/ac)`;
  return `rate ${name}: ${range}, total ${whole}; ${unit === undefined ? "the unit is not said" : `in ${unit}`}`;
}

/** More than any product, or less than any under a heading that names its unit. */
function isBeyond({max, unit}: RateColumn): boolean {
  const pounds = inPounds(max, unit);
  return pounds > MOST_LB_PER_ACRE || (unit !== undefined && pounds > 0 && pounds < 1);
}

/** As far as it can be told; what is not a weight is not judged by weight. */
function inPounds(rate: number, unit: string | undefined): number {
  switch (unit) {
    case undefined:
    case "lb/ac":
      return rate;
    case "kg/ha":
      return rate / KG_PER_HA_PER_LB_PER_ACRE;
    case "ton/ac":
      return rate * 2000;
    case "t/ha":
      return (rate * 1000) / KG_PER_HA_PER_LB_PER_ACRE;
    default:
      return 0;
  }
}

function wordsForRates(name: string, features: readonly Feature[]): Issue {
  const values = features.map(({properties}) => properties[name]);
  const empty = values.every((value) => value === null || value === undefined || value === "");
  const text = values.findIndex(
    (value) => typeof value === "string" && value !== "" && !/^\s*-?[\d.]+\s*$/.test(value),
  );
  return {
    code: "prescription/rate-not-a-number",
    severity: "error",
    message: empty
      ? `Column ${name} is empty.`
      : `Column ${name} holds text where rates should be, as "${values[text] ?? ""}" in record ${text + 1}.`,
    place: {column: name},
    hint: "Write every rate as a bare number; 0 where nothing is to be spread.",
  };
}

/** What a reader mended or left out in a rate file is a rate that other readers spread elsewhere or not at all. */
const MENDED = /\/(null-shape|no-geometry|empty-geometry|bad-geometry|flat-ring|winding|number|not-a-number)$/;

function asRateFile(issue: Issue): Issue {
  return MENDED.test(issue.code) && issue.severity !== "error" ? {...issue, severity: "error"} : issue;
}

function validityLines(shapes: readonly LonLatMultiPolygon[], issues: Issue[]): string[] {
  const frame = frameAround(shapes.flat(3));
  const bad = shapes.flatMap((shape, i) => {
    const reason = unreadableReason(shape) ?? invalidReason(multiPolygonToPlane(frame, shape))?.reason;
    return reason ? [{number: i + 1, reason: reason.toLowerCase()}] : [];
  });
  for (const {number, reason} of bad) {
    issues.push({
      code: "file/invalid-shape",
      severity: "error",
      message: `Shape ${number} is not valid: ${reason}.`,
      hint: "Redraw it so that its border does not cross or touch itself.",
    });
  }
  return [
    bad.length === 0
      ? "all shapes are valid"
      : bad.length === 1
        ? "1 shape is not valid"
        : `${bad.length} shapes are not valid`,
  ];
}

function polygonsOf({geometry}: Feature): LonLatMultiPolygon[] {
  if (geometry.type === "Polygon") return [[geometry.coordinates]];
  return geometry.type === "MultiPolygon" ? [geometry.coordinates] : [];
}

function extentOf(features: readonly Feature[]): [number, number, number, number] {
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
  for (const {geometry} of features) visit(geometry.coordinates);
  return [west, south, east, north];
}
