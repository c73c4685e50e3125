import type {Issue} from "../errors.ts";
import {type LocalFrame, multiPolygonToPlane} from "../geo/frame.ts";
import {geodesicAreaM2} from "../geo/geodesic.ts";
import {invalidReason} from "../geo/geos.ts";
import {boxOf, perimeterM} from "../geo/measure.ts";
import type {Box, MultiPolygon} from "../geo/shapes.ts";
import {SQUARE_METRES_PER_ACRE} from "../units/factors.ts";
import {formatNumber, formatShort} from "../units/format.ts";
import {someOf} from "./count-words.ts";
import {findOverlaps} from "./find-overlaps.ts";
import type {Prescription, RatePolygon} from "./prescription.ts";
import type {ReadBackPolygon, Receipt, ReceiptCheck} from "./receipt.ts";
import {unreadableReason} from "./unreadable-shape.ts";

export interface CheckOptions {
  /** The field's frame, in which the prescription's polygons stand. */
  readonly frame: LocalFrame;
  readonly file?: string;
  /** How far a rate may move because the format stores it coarsely. Default 0: exactly. */
  readonly rateToleranceLbPerAcre?: number;
  /** How far a corner may move because the format stores it coarsely, metres. Default 0. */
  readonly positionToleranceM?: number;
  /** Rates the file sets where the map says nothing, lb/ac. Default: it sets none. */
  readonly elsewhere?: {readonly outside: number; readonly lostPosition: number; readonly byDefault: number};
}

/** Relative; the frame's own scale error stays below this within about 5 km of the field's centre. */
const AREA_TOLERANCE = 1e-6;
const TOTAL_TOLERANCE = 1e-4;
/** What the sums behind a geodesic area leave of it, m²: some 0.0002 for a hundred corners about here. */
const MEASURING_NOISE_M2 = 1e-3;
/** There and back between degrees and metres moves a corner by less than this. */
const PROJECTION_TOLERANCE_M = 0.001;

/**
 * Compares what was read back from a hand-over file with the prescription it was written from.
 *
 * Counts, rates, the area of each polygon, total product, the place on the earth, validity, and ground covered twice.
 * Rates must agree exactly and areas to 1e-6 unless the format is coarser, which its caller says; totals to 0.01 %.
 *
 * @param readBack - As read by the format's reader, in the file's order. Matched by id when every one has an id of
 *   the prescription, else by order.
 * @returns A receipt; a failed check also stands as an issue of severity error. Nothing throws.
 */
export function checkPrescription(
  prescription: Prescription,
  readBack: readonly ReadBackPolygon[],
  options: CheckOptions,
): Receipt {
  const found = inOrderOf(prescription.polygons, readBack);
  // What cannot be measured counts as no ground at all, and fails the line on invalid polygons.
  const shapes = found.map(({shape}) => (unreadableReason(shape) === undefined ? shape : []));
  const planes = shapes.map((shape) => multiPolygonToPlane(options.frame, shape));
  const areas = shapes.map(geodesicAreaM2);
  const acres = areas.reduce((sum, area) => sum + area, 0) / SQUARE_METRES_PER_ACRE;
  const rates = found.map((polygon) => polygon.rateLbPerAcre);
  const totalLb = rates.reduce((sum, rate, i) => sum + rate * ((areas[i] as number) / SQUARE_METRES_PER_ACRE), 0);
  const lines = [
    countLine(prescription, found),
    rateLine(prescription, rates, options.rateToleranceLbPerAcre ?? 0),
    areaLine(prescription, areas, planes, options.positionToleranceM ?? 0),
    totalLine(prescription, totalLb, options.rateToleranceLbPerAcre ?? 0),
    placeLine(prescription, planes, options.positionToleranceM ?? 0),
    ...shapeLines(found, planes),
    ...elsewhereLines(prescription, options),
  ];
  const checks = lines.map(({code: _, ...check}) => check);
  return {
    ...(options.file !== undefined && {file: options.file}),
    product: prescription.product.analysis,
    polygons: found.length,
    acres,
    distinctRates: new Set(rates).size,
    minLbPerAcre: rates.length > 0 ? rates.reduce((a, b) => Math.min(a, b)) : Number.NaN,
    meanLbPerAcre: totalLb / acres,
    maxLbPerAcre: rates.length > 0 ? rates.reduce((a, b) => Math.max(a, b)) : Number.NaN,
    totalLb,
    plannedLb: prescription.totals.productLb,
    checks,
    passed: checks.every((check) => check.passed),
    issues: lines.filter((line) => !line.passed).map((line) => issueOf(line, options.file)),
  };
}

interface Line extends ReceiptCheck {
  readonly code: string;
}

/** By id where the file keeps ids, so that a format may sort its records. */
function inOrderOf(planned: readonly RatePolygon[], readBack: readonly ReadBackPolygon[]): readonly ReadBackPolygon[] {
  const byId = new Map(readBack.map((polygon) => [polygon.id, polygon]));
  const matched = planned.flatMap((polygon) => byId.get(polygon.unit) ?? []);
  return matched.length === planned.length && matched.length === readBack.length ? matched : readBack;
}

function countLine(prescription: Prescription, found: readonly ReadBackPolygon[]): Line {
  const [planned, inFile] = [prescription.polygons.length, found.length];
  return line("count", "polygons", formatNumber(planned), formatNumber(inFile), planned === inFile);
}

function rateLine({polygons}: Prescription, rates: readonly number[], tolerance: number): Line {
  const off = polygons.filter((polygon, i) => {
    const rate = rates[i];
    return rate === undefined || !(Math.abs(rate - polygon.rateLbPerAcre) <= tolerance);
  });
  const inFile =
    off.length === 0
      ? "the same"
      : `${formatNumber(off.length)} differ (${someOf(off.map((polygon) => polygon.unit))})`;
  return line("rates", "rates", `${formatNumber(polygons.length)} rates in lb/ac`, inFile, off.length === 0);
}

function areaLine(
  {polygons, totals}: Prescription,
  areas: readonly number[],
  planes: readonly MultiPolygon[],
  positionM: number,
): Line {
  const off = polygons.filter((polygon, i) => {
    // Corners that move by d change an area by at most d times the perimeter.
    const moved = positionM * perimeterM(planes[i] ?? []) + (positionM > 0 ? MEASURING_NOISE_M2 : 0);
    const tolerance = Math.max(AREA_TOLERANCE * polygon.area, moved);
    const area = areas[i];
    return area === undefined || !(Math.abs(area - polygon.area) <= tolerance);
  });
  const sum = areas.reduce((a, b) => a + b, 0);
  const differ = off.length === 0 ? "" : `; ${formatNumber(off.length)} differ (${someOf(off.map((p) => p.unit))})`;
  return line("area", "area of each polygon", acresText(totals.area), acresText(sum) + differ, off.length === 0);
}

function totalLine({totals}: Prescription, totalLb: number, rateTolerance: number): Line {
  const coarse = (rateTolerance * totals.area) / SQUARE_METRES_PER_ACRE;
  const passed = Math.abs(totalLb - totals.productLb) <= Math.max(TOTAL_TOLERANCE * totals.productLb, coarse);
  return line("total", "product", `${formatNumber(totals.productLb)} lb`, `${formatNumber(totalLb)} lb`, passed);
}

/** Catches swapped axes, a wrong coordinate system and another field's file. */
function placeLine({polygons}: Prescription, planes: readonly MultiPolygon[], positionM: number): Line {
  const planned = boxOf(polygons.map((p) => p.polygon));
  const inFile = boxOf(planes.flat());
  const sides: readonly (keyof Box)[] = ["west", "south", "east", "north"];
  const off = sides.reduce((most, side) => Math.max(most, Math.abs(planned[side] - inFile[side])), 0);
  const passed = off <= Math.max(PROJECTION_TOLERANCE_M, 2 * positionM);
  const where = passed ? "the same" : Number.isFinite(off) ? `${formatShort(off, 2)} m off` : "nowhere";
  return line("place", "extent on the ground", "the field's", where, passed);
}

function shapeLines(found: readonly ReadBackPolygon[], planes: readonly MultiPolygon[]): Line[] {
  const name = (i: number): string => found[i]?.id ?? `number ${i + 1}`;
  const all = planes.map((_, i) => i);
  const several = all.filter((i) => found[i]?.shape.length !== 1);
  const bad = all.filter((i) => planes[i]?.length === 0 || invalidReason(planes[i] as MultiPolygon) !== undefined);
  const sound = all.filter((i) => planes[i]?.length === 1 && !bad.includes(i));
  const overlaps = findOverlaps(
    sound.map((i) => (planes[i] as MultiPolygon)[0] as MultiPolygon[number]),
    1,
  );
  const doubled = overlaps.reduce((sum, overlap) => sum + overlap.areaM2, 0);
  const none = (names: readonly number[]): string => (names.length === 0 ? "none" : someOf(names.map(name)));
  return [
    line("parts", "polygons not in one part", "none", none(several), several.length === 0),
    line("invalid", "invalid polygons", "none", none(bad), bad.length === 0),
    line("overlap", "ground covered twice", "none", doubled > 0 ? acresText(doubled) : "none", doubled === 0),
  ];
}

/** What the machine spreads where the map says nothing. */
function elsewhereLines({limits}: Prescription, options: CheckOptions): Line[] {
  const {elsewhere, rateToleranceLbPerAcre: tolerance = 0} = options;
  if (!elsewhere) return [];
  const {outsideLbPerAcre: outside, lostPositionLbPerAcre: lost, defaultLbPerAcre: byDefault} = limits;
  const compare = (code: string, what: string, planned: number, found: number): Line => {
    const passed = Math.abs(found - planned) <= tolerance;
    return line(
      code,
      what,
      `${formatShort(planned, 2)} lb/ac`,
      passed ? "the same" : `${formatShort(found, 2)} lb/ac`,
      passed,
    );
  };
  return [
    compare("outside", "rate outside", outside, elsewhere.outside),
    compare("lost", "rate without a position", lost ?? outside, elsewhere.lostPosition),
    compare("default", "rate before the map", byDefault ?? outside, elsewhere.byDefault),
  ];
}

function line(code: string, what: string, planned: string, inFile: string, passed: boolean): Line {
  return {code, what, planned, inFile, passed};
}

function issueOf({code, what, planned, inFile}: Line, file: string | undefined): Issue {
  return {
    code: `prescription/readback-${code}`,
    severity: "error",
    message: `Read back from the file, ${what}: ${inFile}; the prescription has ${planned}.`,
    ...(file !== undefined && {place: {file}}),
    hint: "Do not spread from this file: write it again and compare.",
  };
}

function acresText(areaM2: number): string {
  return `${formatNumber(areaM2 / SQUARE_METRES_PER_ACRE, 2)} ac`;
}
