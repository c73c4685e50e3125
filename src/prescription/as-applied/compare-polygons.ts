import {FieldError, type Issue} from "../../errors.ts";
import type {Field} from "../../geo/field.ts";
import {invalidReason, makeValid} from "../../geo/geos.ts";
import {areaM2} from "../../geo/measure.ts";
import {dissolve} from "../../geo/partition.ts";
import {SQUARE_METRES_PER_ACRE} from "../../units/factors.ts";
import {many} from "../count-words.ts";
import type {AppliedComparison, OffRateGround} from "./applied-comparison.ts";
import {appliedIssues} from "./applied-issues.ts";
import type {AppliedOptions, AppliedPolygon, RatePlan} from "./applied-log.ts";
import {DEFAULT_TOLERANCE_PCT} from "./compare-applied.ts";
import {type LayeredFace, layeredFaces} from "./layered-faces.ts";
import type {RecordReason} from "./screen-records.ts";
import {addGround, blankGround, ELSEWHERE, type Ground, isOff, LEAST_ELSEWHERE_M2, sumGrounds} from "./tally-rows.ts";

/**
 * Planned against applied, unit by unit, where the log is polygons with a rate each: field, units and applied polygons
 * are cut along all their outlines, and every face is judged by what lies on it.
 *
 * Where applied polygons share ground their rates add up there; the first in the file counts as the first time over.
 * Polygons of no rate cover nothing; invalid ones are repaired and counted.
 *
 * @param polygons - In the field's frame, lb of product per acre.
 * @returns Also the ground that is off, in pieces of one unit and one applied rate; pieces under a square metre are
 *   where corners were rounded and left out there.
 * @throws {FieldError} `as-applied/nothing-usable`, `as-applied/elsewhere`.
 * Checked against closed forms and Shapely on a real field's polygons (tests).
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
  const fell = fallen(field, plan, used);
  const {grounds, share} = groundsOf(plan, fell);
  let outsideM2 = 0;
  let outsideAmount = 0;
  for (const {owner, areaM2: size, lbPerAcre, again, times} of fell) {
    const ground = grounds[owner];
    if (ground) {
      addGround(ground, (share[owner] as number) * size, times, lbPerAcre, again, tolerancePct);
    } else {
      outsideM2 += size;
      outsideAmount += size * lbPerAcre;
    }
  }
  const sums = sumGrounds(grounds, outsideM2, outsideAmount);
  if (sums.field.coveredAcres === 0) {
    throw new FieldError("as-applied/elsewhere", `Nothing of ${id} fell on ${field.name}.`, {
      place: {file: id},
      hint: "Check that the log is of this field.",
    });
  }
  const logged = used.reduce((sum, {shape, rateLbPerAcre}) => sum + areaM2(shape) * rateLbPerAcre, 0);
  const found = {
    id,
    how: "polygons" as const,
    tolerancePct,
    ...sums,
    loggedLb: logged / SQUARE_METRES_PER_ACRE,
    records: {all: polygons.length, used: used.length, byReason},
    passes: 0,
    lag: {unit: "s" as const, curve: [], passes: 0, changes: 0, refused: "polygons do not follow one another"},
  };
  const issues: Issue[] = repaired > 0 ? [repairedIssue(repaired)] : [];
  return {
    comparison: {...found, issues: [...issues, ...appliedIssues(found)]},
    off: offGround(fell, grounds, share, tolerancePct),
  };
}

/** A face, whose ground it is, and what fell on it. */
interface Fallen extends LayeredFace {
  /** Index into the plan's units, one more for other ground of the field, −1 outside. */
  readonly owner: number;
  readonly lbPerAcre: number;
  readonly again: number;
  readonly times: number;
}

function fallen(field: Field, plan: RatePlan, used: readonly AppliedPolygon[]): Fallen[] {
  const units = plan.units.length;
  const shapes = [...plan.units.map(({shape}) => shape), field.outline, ...used.map(({shape}) => shape)];
  return layeredFaces(shapes).map((face) => {
    // The field's outline comes after the units, so whichever is found first owns the ground.
    const owner = face.shapes.find((i) => i <= units) ?? -1;
    const rates = face.shapes.filter((i) => i > units).map((i) => used[i - units - 1]?.rateLbPerAcre as number);
    const lbPerAcre = rates.reduce((a, b) => a + b, 0);
    return {...face, owner, lbPerAcre, again: lbPerAcre - (rates[0] ?? 0), times: rates.length};
  });
}

/** Blank rows, and the true area that a square metre of each one's faces stands for. */
function groundsOf(plan: RatePlan, fell: readonly Fallen[]): {grounds: Ground[]; share: number[]} {
  const plane = new Float64Array(plan.units.length + 1);
  for (const {owner, areaM2: size} of fell) if (owner >= 0) plane[owner] = (plane[owner] as number) + size;
  const elsewhereM2 = plane[plan.units.length] as number;
  const grounds = [
    ...plan.units.map(({id, area, rateLbPerAcre}) => blankGround(id, area, rateLbPerAcre)),
    blankGround(ELSEWHERE, elsewhereM2 >= LEAST_ELSEWHERE_M2 ? elsewhereM2 : 0, plan.elsewhereLbPerAcre),
  ];
  return {grounds, share: grounds.map(({areaM2: size}, i) => (plane[i] ? size / (plane[i] as number) : 0))};
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

/** Faces of one unit and one rate joined. */
function offGround(
  fell: readonly Fallen[],
  grounds: readonly Ground[],
  share: readonly number[],
  tolerancePct: number,
): OffRateGround[] {
  const off = fell.filter(({owner, lbPerAcre}) => {
    const planned = grounds[owner]?.plannedLbPerAcre;
    return planned !== undefined && share[owner] !== 0 && isOff(lbPerAcre, planned, tolerancePct);
  });
  const kinds = new Map<string, number>();
  const labels = off.map(({owner, lbPerAcre}) => {
    const key = `${owner} ${lbPerAcre}`;
    if (!kinds.has(key)) kinds.set(key, kinds.size);
    return kinds.get(key) as number;
  });
  const first = [...kinds.values()].map((label) => off[labels.indexOf(label)] as Fallen);
  const faces = off.map(({face}) => face);
  return dissolve({faces, inside: []}, labels).flatMap(({label, shape}) => {
    const {owner, lbPerAcre} = first[label] as Fallen;
    const {unit, plannedLbPerAcre} = grounds[owner] as Ground;
    const size = (share[owner] as number) * areaM2(shape);
    if (size < LEAST_PIECE_M2) return [];
    return [{unit, shape, acres: size / SQUARE_METRES_PER_ACRE, plannedLbPerAcre, appliedLbPerAcre: lbPerAcre}];
  });
}

function repairedIssue(count: number): Issue {
  return {
    code: "as-applied/repaired",
    severity: "note",
    message: `${many(count, "applied polygon")} crossed themselves and were repaired.`,
  };
}
