import {SQUARE_METRES_PER_ACRE} from "../../units/factors.ts";
import type {AppliedComparison, AppliedRow} from "./applied-comparison.ts";

/** Name of the row of ground in the field and in no unit. */
export const ELSEWHERE = "elsewhere in the field";
/** Less than this of it is rounding of coordinates. */
export const LEAST_ELSEWHERE_M2 = 10;

/** What is added up for one piece of ground; m², and lb/ac × m². */
export interface Ground {
  readonly unit: string;
  readonly areaM2: number;
  readonly plannedLbPerAcre: number;
  amount: number;
  coveredM2: number;
  gapM2: number;
  overlapM2: number;
  overlapAmount: number;
  underM2: number;
  overM2: number;
}

export function blankGround(unit: string, areaM2: number, plannedLbPerAcre: number): Ground {
  return {
    unit,
    areaM2,
    plannedLbPerAcre,
    ...{amount: 0, coveredM2: 0, gapM2: 0, overlapM2: 0, overlapAmount: 0, underM2: 0, overM2: 0},
  };
}

/** Adds a piece of a unit's ground: how many times it was covered, what fell on it, and what of that after the first time. */
export function addGround(
  ground: Ground,
  areaM2: number,
  visits: number,
  lbPerAcre: number,
  again: number,
  tolerancePct: number,
): void {
  if (visits === 0) {
    if (ground.plannedLbPerAcre > 0) ground.gapM2 += areaM2;
    return;
  }
  ground.amount += areaM2 * lbPerAcre;
  ground.coveredM2 += areaM2;
  if (visits > 1) {
    ground.overlapM2 += areaM2;
    ground.overlapAmount += areaM2 * again;
  }
  judgeRate(ground, lbPerAcre, areaM2, tolerancePct);
}

/** Puts covered ground where it belongs: under, over or right. */
function judgeRate(ground: Ground, lbPerAcre: number, areaM2: number, tolerancePct: number): void {
  if (isOff(lbPerAcre, ground.plannedLbPerAcre, tolerancePct)) {
    if (lbPerAcre < ground.plannedLbPerAcre) ground.underM2 += areaM2;
    else ground.overM2 += areaM2;
  }
}

/** A hair more than the tolerance, so that a rate exactly at it is not off by rounding. */
export function isOff(lbPerAcre: number, plannedLbPerAcre: number, tolerancePct: number): boolean {
  return Math.abs(lbPerAcre - plannedLbPerAcre) > (tolerancePct / 100 + 1e-9) * plannedLbPerAcre;
}

/** The rows of a comparison and what they come to. */
export type Sums = Pick<AppliedComparison, "units" | "elsewhere" | "field" | "outside" | "total">;

/** @param grounds - The plan's units, and the rest of the field as the last one: of no area where there is none. */
export function sumGrounds(grounds: readonly Ground[], outsideM2: number, outsideAmount: number): Sums {
  const rows = grounds.map(rowOf);
  const units = rows.slice(0, -1);
  const last = rows.at(-1);
  const elsewhere = last && last.acres > 0 ? last : undefined;
  const field = sumRows("field", elsewhere ? [...units, elsewhere] : units);
  const outside = {acres: outsideM2 / SQUARE_METRES_PER_ACRE, appliedLb: outsideAmount / SQUARE_METRES_PER_ACRE};
  const appliedLb = field.appliedLb + outside.appliedLb;
  return {
    units,
    ...(elsewhere && {elsewhere}),
    field,
    outside,
    total: {plannedLb: field.plannedLb, appliedLb, ...differenceOf(field.plannedLb, appliedLb)},
  };
}

function rowOf(ground: Ground): AppliedRow {
  const acres = (areaM2: number): number => areaM2 / SQUARE_METRES_PER_ACRE;
  const plannedLb = acres(ground.areaM2) * ground.plannedLbPerAcre;
  const appliedLb = acres(ground.amount);
  const [gap, under, over] = [acres(ground.gapM2), acres(ground.underM2), acres(ground.overM2)];
  return {
    unit: ground.unit,
    acres: acres(ground.areaM2),
    plannedLb,
    appliedLb,
    ...differenceOf(plannedLb, appliedLb),
    coveredAcres: acres(ground.coveredM2),
    gapAcres: gap,
    gapLb: gap * ground.plannedLbPerAcre,
    overlapAcres: acres(ground.overlapM2),
    overlapLb: acres(ground.overlapAmount),
    underAcres: under,
    overAcres: over,
    offAcres: gap + under + over,
  };
}

function differenceOf(plannedLb: number, appliedLb: number): {differenceLb: number; differencePct: number} {
  const differenceLb = appliedLb - plannedLb;
  return {differenceLb, differencePct: plannedLb > 0 ? (100 * differenceLb) / plannedLb : Number.NaN};
}

/** Sums in the order of the rows. */
function sumRows(unit: string, rows: readonly AppliedRow[]): AppliedRow {
  const sum = (pick: (row: AppliedRow) => number): number => rows.reduce((total, row) => total + pick(row), 0);
  const plannedLb = sum((row) => row.plannedLb);
  const appliedLb = sum((row) => row.appliedLb);
  return {
    unit,
    acres: sum((row) => row.acres),
    plannedLb,
    appliedLb,
    ...differenceOf(plannedLb, appliedLb),
    coveredAcres: sum((row) => row.coveredAcres),
    gapAcres: sum((row) => row.gapAcres),
    gapLb: sum((row) => row.gapLb),
    overlapAcres: sum((row) => row.overlapAcres),
    overlapLb: sum((row) => row.overlapLb),
    underAcres: sum((row) => row.underAcres),
    overAcres: sum((row) => row.overAcres),
    offAcres: sum((row) => row.offAcres),
  };
}
