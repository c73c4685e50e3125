import {FieldError, type Issue} from "../../errors.ts";
import type {Field} from "../../geo/field.ts";
import {difference, intersection, invalidReason, makeValid, union} from "../../geo/geos.ts";
import {areaM2, boxOf} from "../../geo/measure.ts";
import type {Box, MultiPolygon} from "../../geo/shapes.ts";
import {SQUARE_METRES_PER_ACRE} from "../../units/factors.ts";
import {many} from "../count-words.ts";
import type {AppliedComparison, OffRateGround} from "./applied-comparison.ts";
import {appliedIssues} from "./applied-issues.ts";
import type {AppliedOptions, AppliedPolygon, RatePlan} from "./applied-log.ts";
import {DEFAULT_TOLERANCE_PCT, elsewhereOf} from "./compare-applied.ts";
import type {RecordReason} from "./screen-records.ts";
import {splitOverlaps} from "./split-overlaps.ts";
import {blankGround, differenceOf, type Ground, isOff, judgeRate, rowOf, sumRows} from "./tally-rows.ts";

/**
 * Planned against applied, unit by unit, where the log is polygons with a rate each: every applied polygon is cut by
 * every unit.
 *
 * Where applied polygons share ground their rates add up there. Polygons of no rate cover nothing; invalid
 * ones are repaired and counted. Pieces of ground under a square metre are rounding and judged for no rate.
 *
 * @param polygons - In the field's frame, lb of product per acre.
 * @throws {FieldError} `as-applied/nothing-usable`, `as-applied/elsewhere`.
 */
export function comparePolygons(
  field: Field,
  plan: RatePlan,
  polygons: readonly AppliedPolygon[],
  options: AppliedOptions & {readonly id: string},
): {comparison: AppliedComparison; off: OffRateGround[]} {
  const {id} = options;
  const tolerancePct = options.tolerancePct ?? DEFAULT_TOLERANCE_PCT;
  const {used, byReason, repaired} = usable(polygons);
  if (used.length === 0) {
    throw new FieldError("as-applied/nothing-usable", `Not one polygon of ${id} has a rate above zero.`, {
      place: {file: id},
      hint: "Check which column holds the rate.",
    });
  }
  const off: OffRateGround[] = [];
  const boxes = used.map(({shape}) => boxOf(shape));
  const cut = (shape: MultiPolygon): AppliedPolygon[] => piecesIn(shape, used, boxes);
  const units = plan.units.map((unit) => {
    const ground = blankGround(unit.id, unit.area, unit.rateLbPerAcre);
    addPieces(ground, unit.shape, cut(unit.shape), tolerancePct, off);
    return rowOf(ground);
  });
  const planned = union(plan.units.map(({shape}) => shape));
  const restM2 = elsewhereOf(field, plan);
  const rest = restM2 > 0 ? difference(field.outline, planned) : [];
  const elsewhere = blankGround("elsewhere in the field", restM2, plan.elsewhereLbPerAcre);
  if (restM2 > 0) addPieces(elsewhere, rest, cut(rest), tolerancePct, off);
  const whole = sumRows("field", restM2 > 0 ? [...units, rowOf(elsewhere)] : units);
  if (whole.coveredAcres === 0) {
    throw new FieldError("as-applied/elsewhere", `Nothing of ${id} fell on ${field.name}.`, {
      place: {file: id},
      hint: "Check that the log is of this field.",
    });
  }
  const outside = outsideOf(union([planned, rest]), used, boxes);
  const appliedLb = whole.appliedLb + outside.appliedLb;
  const loggedLb = used.reduce((sum, {shape, rateLbPerAcre}) => sum + areaM2(shape) * rateLbPerAcre, 0);
  const found = {
    id,
    how: "polygons" as const,
    tolerancePct,
    units,
    ...(restM2 > 0 && {elsewhere: rowOf(elsewhere)}),
    field: whole,
    outside,
    total: {plannedLb: whole.plannedLb, appliedLb, ...differenceOf(whole.plannedLb, appliedLb)},
    loggedLb: loggedLb / SQUARE_METRES_PER_ACRE,
    records: {all: polygons.length, used: used.length, byReason},
    passes: 0,
    lag: {unit: "s" as const, curve: [], passes: 0, changes: 0, refused: "polygons do not follow one another"},
  };
  const issues: Issue[] = repaired > 0 ? [repairedIssue(repaired)] : [];
  return {comparison: {...found, issues: [...issues, ...appliedIssues(found)]}, off};
}

/** Pieces smaller than this are where corners were rounded. */
const LEAST_PIECE_M2 = 1;

function usable(polygons: readonly AppliedPolygon[]): {
  used: AppliedPolygon[];
  byReason: Partial<Record<RecordReason, number>>;
  repaired: number;
} {
  const byReason: Partial<Record<RecordReason, number>> = {};
  const used: AppliedPolygon[] = [];
  let repaired = 0;
  for (const {shape, rateLbPerAcre} of polygons) {
    const why = !Number.isFinite(rateLbPerAcre)
      ? "no rate"
      : rateLbPerAcre < 0
        ? "rate below zero"
        : rateLbPerAcre === 0
          ? "rate zero"
          : shape.length === 0
            ? "no position"
            : undefined;
    if (why) {
      byReason[why] = (byReason[why] ?? 0) + 1;
      continue;
    }
    const bad = invalidReason(shape);
    if (bad) repaired++;
    used.push({shape: bad ? makeValid(shape) : shape, rateLbPerAcre});
  }
  return {used, byReason, repaired};
}

function piecesIn(shape: MultiPolygon, used: readonly AppliedPolygon[], boxes: readonly Box[]): AppliedPolygon[] {
  const mine = boxOf(shape);
  return used.flatMap(({shape: other, rateLbPerAcre}, i) => {
    if (!meet(mine, boxes[i] as Box)) return [];
    const piece = intersection(other, shape);
    return piece.length > 0 ? [{shape: piece, rateLbPerAcre}] : [];
  });
}

const meet = (a: Box, b: Box): boolean => a.west < b.east && b.west < a.east && a.south < b.north && b.south < a.north;

/** Adds what fell on one unit; areas of the frame are brought to the unit's true area. */
function addPieces(
  ground: Ground,
  shape: MultiPolygon,
  pieces: readonly AppliedPolygon[],
  tolerancePct: number,
  off: OffRateGround[],
): void {
  const scale = ground.areaM2 / areaM2(shape);
  const covered = union(pieces.map((piece) => piece.shape));
  ground.coveredM2 = scale * areaM2(covered);
  const tell = (ground2: MultiPolygon, lbPerAcre: number): void => {
    const size = scale * areaM2(ground2);
    if (size < LEAST_PIECE_M2 || !isOff(lbPerAcre, ground.plannedLbPerAcre, tolerancePct)) return;
    off.push({
      unit: ground.unit,
      shape: ground2,
      acres: size / SQUARE_METRES_PER_ACRE,
      plannedLbPerAcre: ground.plannedLbPerAcre,
      appliedLbPerAcre: lbPerAcre,
    });
  };
  for (const piece of pieces) ground.amount += scale * areaM2(piece.shape) * piece.rateLbPerAcre;
  for (const {shape: part, lbPerAcre, extraLbPerAcre} of splitOverlaps(pieces)) {
    const size = scale * areaM2(part);
    if (extraLbPerAcre > 0) {
      ground.overlapM2 += size;
      ground.overlapAmount += size * extraLbPerAcre;
    }
    judgeRate(ground, lbPerAcre, size, tolerancePct);
    tell(part, lbPerAcre);
  }
  if (ground.plannedLbPerAcre > 0) {
    const gap = difference(shape, covered);
    ground.gapM2 = scale * areaM2(gap);
    tell(gap, 0);
  }
}

function outsideOf(
  inside: MultiPolygon,
  used: readonly AppliedPolygon[],
  boxes: readonly Box[],
): AppliedComparison["outside"] {
  const mine = boxOf(inside);
  let amount = 0;
  const stray = used.flatMap(({shape, rateLbPerAcre}, i) => {
    const rest = meet(mine, boxes[i] as Box) ? difference(shape, inside) : shape;
    amount += areaM2(rest) * rateLbPerAcre;
    return rest.length > 0 ? [rest] : [];
  });
  return {acres: areaM2(union(stray)) / SQUARE_METRES_PER_ACRE, appliedLb: amount / SQUARE_METRES_PER_ACRE};
}

function repairedIssue(count: number): Issue {
  return {
    code: "as-applied/repaired",
    severity: "note",
    message: `${many(count, "applied polygon")} crossed themselves and were repaired.`,
  };
}
