import {FieldError, type Issue} from "../errors.ts";
import type {Feature} from "../geo/features.ts";
import type {Field} from "../geo/field.ts";
import {frameAround, multiPolygonToPlane} from "../geo/frame.ts";
import {geodesicAreaM2} from "../geo/geodesic.ts";
import {difference, invalidReason, union} from "../geo/geos.ts";
import {areaM2} from "../geo/measure.ts";
import type {LonLatMultiPolygon, MultiPolygon, Polygon} from "../geo/shapes.ts";
import {SQUARE_METRES_PER_ACRE} from "../units/factors.ts";
import {formatArea} from "../units/format.ts";
import {many, someOf} from "./count-words.ts";
import {findOverlaps} from "./find-overlaps.ts";
import {machineReadiness} from "./machine-readiness.ts";
import {columnIssues, type RateColumn, rateColumns} from "./rate-columns.ts";
import {unreadableReason} from "./unreadable-shape.ts";

/** What a rate file from anywhere holds. */
export interface RateInspection {
  readonly polygons: number;
  readonly acres: number;
  readonly columns: readonly RateColumn[];
  /** Numbers of the records that are not valid polygons, counted from 1. */
  readonly invalid: readonly number[];
  /** Ground two records share, counted from 1. */
  readonly overlaps: readonly {readonly first: number; readonly second: number; readonly acres: number}[];
  /** Only with a field: ground of the file outside the field, and of the field outside the file. */
  readonly outsideAcres?: number;
  readonly uncoveredAcres?: number;
  readonly issues: readonly Issue[];
}

export interface InspectOptions {
  /** Where given, the file is compared with its boundary. */
  readonly field?: Field | undefined;
  /** Units of columns whose unit the format fixes. */
  readonly units?: ReadonlyMap<string, string> | undefined;
}

/** Overlaps, gaps and overhangs of less than this are rounding of coordinates. */
const LEAST_AREA_M2 = 10;

/**
 * Looks over a rate file of unknown origin: what its columns hold, and what a spreader would trip over.
 *
 * Changes and converts nothing: units are guessed at in words only.
 *
 * @param features - As a reader of a vector format returns them: degrees, longitude first.
 * @throws {FieldError} `prescription/no-polygons`, `prescription/not-degrees`.
 */
export function inspectRates(features: readonly Feature[], {field, units}: InspectOptions = {}): RateInspection {
  const records = features.flatMap((feature, i) => polygonRecord(feature, i + 1) ?? []);
  refuseOddInput(features, records);
  const unreadable = records.map((record) => unreadableReason(record.shape));
  const shapes = records.map((record, i) => (unreadable[i] === undefined ? record.shape : []));
  const frame = field?.frame ?? frameAround(shapes.flat(3));
  const planes = shapes.map((shape) => multiPolygonToPlane(frame, shape));
  const areas = shapes.map(geodesicAreaM2);
  const reasons = planes.map((plane, i) => unreadable[i] ?? invalidReason(plane)?.reason);
  const sound = records.map((_, i) => i).filter((i) => reasons[i] === undefined);
  const numberOf = (i: number): number => (records[i] as PolygonRecord).number;
  const columns = rateColumns(
    records.map((record) => record.properties),
    areas,
    units,
  );
  const overlaps = overlapsAmong(sound, planes).map((o) => ({
    first: numberOf(o.first),
    second: numberOf(o.second),
    acres: o.areaM2 / SQUARE_METRES_PER_ACRE,
  }));
  const fit = field && fitOf(field.outline, union(sound.map((i) => planes[i] as MultiPolygon)));
  const invalid = records.flatMap((record, i) => (reasons[i] ? record.number : []));
  const first = columns.find((column) => column.mayBeRate);
  const sizes = sound.map((i) => {
    const {number, shape, properties} = records[i] as PolygonRecord;
    const vertices = shape.flat().reduce((sum, ring) => sum + ring.length - 1, 0);
    return {
      id: `number ${number}`,
      areaM2: areas[i] as number,
      vertices,
      rate: Number(first && properties[first.name]),
    };
  });
  return {
    polygons: records.length,
    acres: areas.reduce((sum, area) => sum + area, 0) / SQUARE_METRES_PER_ACRE,
    columns,
    invalid,
    overlaps,
    ...(fit && {
      outsideAcres: fit.outsideM2 / SQUARE_METRES_PER_ACRE,
      uncoveredAcres: fit.uncoveredM2 / SQUARE_METRES_PER_ACRE,
    }),
    issues: [
      ...otherGeometryIssues(features.length - records.length),
      ...(columns.length === 0 ? [noColumns] : columns.flatMap(columnIssues)),
      ...shapeIssues(
        records,
        invalid,
        reasons.find((reason) => reason),
      ),
      ...overlapIssues(overlaps),
      ...(fit ? fitIssues(fit, field.name) : []),
      ...machineReadiness(sizes),
    ],
  };
}

interface PolygonRecord {
  readonly number: number;
  readonly shape: LonLatMultiPolygon;
  readonly properties: Feature["properties"];
}

function polygonRecord({geometry, properties}: Feature, number: number): PolygonRecord | undefined {
  if (geometry.type === "Polygon") return {number, shape: [geometry.coordinates], properties};
  if (geometry.type === "MultiPolygon") return {number, shape: geometry.coordinates, properties};
  return undefined;
}

function refuseOddInput(features: readonly Feature[], records: readonly PolygonRecord[]): void {
  if (records.length === 0) {
    const what = features[0] ? `${features[0].geometry.type} features` : "nothing";
    throw new FieldError("prescription/no-polygons", `Expected polygons with rates, found ${what}.`, {
      hint: "Give the file that holds the rate polygons.",
    });
  }
  for (const {number, shape} of records) {
    // Written so that positions that are not numbers pass: those make one record invalid, not the file.
    const odd = shape.flat(2).find(([lon, lat]) => Math.abs(lon) > 180 || Math.abs(lat) > 90);
    if (!odd) continue;
    throw new FieldError(
      "prescription/not-degrees",
      `Record ${number} has the position ${odd[0]}, ${odd[1]}: not degrees.`,
      {
        place: {row: number},
        hint: "Check that longitude comes first and that the file is in longitude and latitude.",
      },
    );
  }
}

/** Among the parts of all valid records; a record's own parts cannot overlap when it is valid. */
function overlapsAmong(
  sound: readonly number[],
  planes: readonly MultiPolygon[],
): {first: number; second: number; areaM2: number}[] {
  const parts = sound.flatMap((record) => (planes[record] as MultiPolygon).map((polygon) => ({record, polygon})));
  const shared = findOverlaps(
    parts.map((part): Polygon => part.polygon),
    LEAST_AREA_M2,
  );
  return shared.map((overlap) => ({
    first: parts[overlap.first]?.record as number,
    second: parts[overlap.second]?.record as number,
    areaM2: overlap.areaM2,
  }));
}

interface Fit {
  readonly outsideM2: number;
  readonly uncoveredM2: number;
  readonly coveredM2: number;
}

function fitOf(outline: MultiPolygon, covered: MultiPolygon): Fit {
  const outsideM2 = areaM2(difference(covered, outline));
  return {
    outsideM2,
    uncoveredM2: areaM2(difference(outline, covered)),
    coveredM2: areaM2(covered) - outsideM2,
  };
}

const noColumns: Issue = {
  code: "prescription/no-rate-column",
  severity: "error",
  message: "No column of the file holds numbers only.",
  hint: "Give the file with one column of rates.",
};

function otherGeometryIssues(count: number): Issue[] {
  if (count === 0) return [];
  return [
    {
      code: "prescription/other-geometry",
      severity: "warning",
      message: `${many(count, "record")} without a polygon ${count === 1 ? "was" : "were"} passed over.`,
      hint: "Give every rate a polygon.",
    },
  ];
}

function shapeIssues(records: readonly PolygonRecord[], invalid: readonly number[], reason?: string): Issue[] {
  const issues: Issue[] = [];
  if (invalid.length > 0) {
    issues.push({
      code: "prescription/polygon-invalid",
      severity: "error",
      message: `Records that are not valid polygons: ${someOf(invalid.map(String))} (${reason?.toLowerCase()} in the first).`,
      place: {row: invalid[0] as number},
      hint: "Repair or redraw them; their area and overlaps are uncertain.",
    });
  }
  const several = records.filter((record) => record.shape.length > 1).map((record) => String(record.number));
  if (several.length > 0) {
    issues.push({
      code: "prescription/multipart",
      severity: "warning",
      message: `Records with several parts: ${someOf(several)}.`,
      hint: "Split them into one polygon each: some controllers read only the first part.",
    });
  }
  return issues;
}

function overlapIssues(overlaps: RateInspection["overlaps"]): Issue[] {
  const worst = overlaps.reduce<RateInspection["overlaps"][number] | undefined>(
    (a, b) => (a && a.acres >= b.acres ? a : b),
    undefined,
  );
  if (!worst) return [];
  return [
    {
      code: "prescription/overlap",
      severity: "error",
      message:
        `${many(overlaps.length, "pair")} of records share ground; the most, ` +
        `${formatArea(worst.acres * SQUARE_METRES_PER_ACRE, "us", 2)}, are ${worst.first} and ${worst.second}.`,
      place: {row: worst.first},
      hint: "Give every spot one rate: where two lie, the controller picks one by its own order.",
    },
  ];
}

function fitIssues({outsideM2, uncoveredM2, coveredM2}: Fit, fieldName: string): Issue[] {
  const issues: Issue[] = [];
  if (coveredM2 < LEAST_AREA_M2) {
    return [
      {
        code: "prescription/other-field",
        severity: "error",
        message: `No polygon lies in ${fieldName}.`,
        hint: "Check that this file is for this field.",
      },
    ];
  }
  const tell = (areaM2: number, code: string, message: string, hint: string): void => {
    if (areaM2 < LEAST_AREA_M2) return;
    issues.push({code: `prescription/${code}`, severity: "warning", message, hint});
  };
  const outside = formatArea(outsideM2, "us", 2);
  const uncovered = formatArea(uncoveredM2, "us", 2);
  tell(
    outsideM2,
    "outside-field",
    `${outside} of the polygons lie outside ${fieldName}.`,
    "Clip them to its boundary.",
  );
  tell(
    uncoveredM2,
    "uncovered",
    `${uncovered} of ${fieldName} lie in no polygon.`,
    "Set the controller's rate outside the polygons, or cover this ground with a rate of 0.",
  );
  return issues;
}
