import {FieldError, type Issue} from "../../errors.ts";
import type {Field} from "../../geo/field.ts";
import {cellAt, type Grid} from "../../grid/grid.ts";
import {burn, maskOf} from "../../grid/rasterize.ts";
import {typicalOf} from "../../stats/robust.ts";
import {SQUARE_METRES_PER_ACRE} from "../../units/factors.ts";
import type {AppliedComparison, AppliedRow, DifferenceMap} from "./applied-comparison.ts";
import {appliedIssues} from "./applied-issues.ts";
import type {AppliedLog, AppliedOptions, RatePlan} from "./applied-log.ts";
import {findLag} from "./find-lag.ts";
import {type Drive, followPasses} from "./follow-passes.ts";
import {layeredFaces} from "./layered-faces.ts";
import {nearestCoverage} from "./nearest-coverage.ts";
import {type Coverage, paintCoverage, pictureOver} from "./paint-coverage.ts";
import {countReasons, reasonNumber, screenRecords} from "./screen-records.ts";
import {
  addGround,
  blankGround,
  ELSEWHERE,
  type Ground,
  LEAST_ELSEWHERE_M2,
  type Sums,
  sumGrounds,
} from "./tally-rows.ts";

export const DEFAULT_TOLERANCE_PCT = 10;
const DEFAULT_CELL_M = 0.5;

/**
 * Planned against applied, unit by unit, from the records of a machine.
 *
 * Every record is a strip of ground, a swath wide, from the record before to its own, painted into a picture of fine
 * cells; what fell on a unit is the mean over its cells times its true area. Records in no order (see `followPasses`)
 * give their rate to the ground nearest to them instead: overlaps and lag are then not told. Nothing is deleted: records
 * that put out nothing, or cannot have, are counted by reason.
 *
 * Not done: no shift of records by the lag found, none by where the receiver sits on the machine, no spread pattern
 * across the swath.
 *
 * @param log - Positions in the field's frame, rates in lb of product per acre.
 * @throws {FieldError} `as-applied/no-swath`, `as-applied/nothing-usable`, `as-applied/elsewhere`.
 * Checked against closed forms and a second way of adding up (tests).
 */
export function compareApplied(
  field: Field,
  plan: RatePlan,
  log: AppliedLog,
  options: AppliedOptions = {},
): {comparison: AppliedComparison; map: DifferenceMap} {
  const tolerancePct = options.tolerancePct ?? DEFAULT_TOLERANCE_PCT;
  const {swathM, issues: swathIssues} = swathOf(log, options.swathM);
  const reason = screenRecords(log, swathM);
  const drive = followPasses(log, reason);
  const counts = countReasons(reason);
  if (counts.used === 0) throw nothingUsable(log, counts.byReason);
  const shapes = plan.units.map(({shape}) => shape);
  const grid = pictureOver(field, shapes, options.cellM ?? DEFAULT_CELL_M, typicalOf(swathM));
  const rate = ratesAlong(log, drive, swathM, reason);
  const widths = Float64Array.from(drive.record, (i) => swathM[i] as number);
  const coverage = drive.ordered
    ? paintCoverage(grid, drive, rate, widths)
    : nearestCoverage(grid, drive.x, drive.y, rate, widths);
  const owner = ownersOf(grid, field, plan);
  const sums = sumByOwner(field, plan, coverage, owner, tolerancePct);
  if (sums.field.coveredAcres === 0) throw elsewhere(log.id, field.name);
  const lag = findLag(drive, rate, (x, y) => plannedAt(plan, grid, owner, x, y));
  const untold = !drive.ordered;
  const found = {
    id: log.id,
    how: untold ? ("nearest record" as const) : ("passes" as const),
    tolerancePct,
    units: sums.units.map((row) => (untold ? withoutOverlap(row) : row)),
    ...(sums.elsewhere && {elsewhere: untold ? withoutOverlap(sums.elsewhere) : sums.elsewhere}),
    field: untold ? withoutOverlap(sums.field) : sums.field,
    outside: sums.outside,
    total: sums.total,
    ...(drive.ordered && {loggedLb: loggedLb(drive, rate, widths)}),
    records: {all: log.x.length, ...counts},
    passes: drive.passes.length,
    lag,
  };
  return {
    comparison: {
      ...found,
      issues: [...swathIssues, ...(drive.distanceFits ? [] : [oddDistances]), ...appliedIssues(found)],
    },
    map: {grid, values: differences(plan, coverage, owner)},
  };
}

/** Width of every record: its own, else the one given; a width of zero stays zero. */
function swathOf(log: AppliedLog, given: number | undefined): {swathM: Float64Array; issues: Issue[]} {
  const logged = log.swathM ?? new Float64Array(log.x.length).fill(Number.NaN);
  const usual = typicalOf(logged);
  const fallback = given ?? usual;
  if (!(fallback > 0)) {
    throw new FieldError("as-applied/no-swath", `${log.id} does not say how wide the machine spread.`, {
      place: {file: log.id},
      hint: 'Give the width in the job, as in "swath": "60 ft".',
    });
  }
  let filled = 0;
  const swathM = logged.map((width) => {
    if (!Number.isNaN(width)) return width;
    filled++;
    return fallback;
  });
  if (filled === 0 || given !== undefined) return {swathM, issues: []};
  const message = `${filled} of ${swathM.length} records have no swath; they were given the usual ${usual.toFixed(1)} m.`;
  return {swathM, issues: [{code: "as-applied/swath-filled", severity: "note", message}]};
}

/** lb/ac by place: as logged, or from amount and ground. Zero where the machine was off or put out nothing. */
function ratesAlong(log: AppliedLog, drive: Drive, swathM: Float64Array, reason: Uint8Array): Float64Array {
  const {rateLbPerAcre, massLb} = log;
  return Float64Array.from(drive.record, (i, k) => {
    if (reason[i] === RATE_ZERO || reason[i] === SWITCHED_OFF) return 0;
    if (reason[i] !== 0) return Number.NaN;
    if (rateLbPerAcre) return rateLbPerAcre[i] as number;
    const ground = ((drive.stepM[k] as number) * (swathM[i] as number)) / SQUARE_METRES_PER_ACRE;
    return (massLb?.[i] as number) / ground;
  });
}

const RATE_ZERO = reasonNumber("rate zero");
const SWITCHED_OFF = reasonNumber("switched off");

const NO_GROUND = -1;
const OUTSIDE = -2;

/** Index of the unit that holds each cell; `plan.units.length` on other ground of the field. */
function ownersOf(grid: Grid, field: Field, plan: RatePlan): Int32Array {
  const {owner} = burn(
    grid,
    plan.units.map(({shape}) => shape),
  );
  const mask = maskOf(grid, field.outline);
  for (let at = 0; at < owner.length; at++) {
    if (owner[at] === NO_GROUND) owner[at] = mask[at] ? plan.units.length : OUTSIDE;
  }
  return owner;
}

function plannedAt(plan: RatePlan, grid: Grid, owner: Int32Array, x: number, y: number): number {
  const at = cellAt(grid, x, y);
  const unit = at < 0 ? OUTSIDE : (owner[at] as number);
  return unit === OUTSIDE ? Number.NaN : (plan.units[unit]?.rateLbPerAcre ?? plan.elsewhereLbPerAcre);
}

function sumByOwner(
  field: Field,
  plan: RatePlan,
  {grid, rate, again, visits, beyondM2, beyondAmount}: Coverage,
  owner: Int32Array,
  tolerancePct: number,
): Sums {
  const count = plan.units.length;
  const cells = new Int32Array(count + 1);
  for (let at = 0; at < owner.length; at++) {
    const unit = owner[at] as number;
    if (unit >= 0) cells[unit] = (cells[unit] as number) + 1;
  }
  const elsewhereM2 = (cells[count] as number) > 0 ? elsewhereOf(field, plan) : 0;
  const grounds = [
    ...plan.units.map(({id, area, rateLbPerAcre}) => blankGround(id, area, rateLbPerAcre)),
    blankGround(ELSEWHERE, elsewhereM2, plan.elsewhereLbPerAcre),
  ];
  const cellM2 = grid.cellSize * grid.cellSize;
  /** True area that a cell of each unit stands for. */
  const share = grounds.map((ground, i) => (cells[i] ? ground.areaM2 / (cells[i] as number) : 0));
  let outsideM2 = beyondM2;
  let outsideAmount = beyondAmount;
  for (let at = 0; at < owner.length; at++) {
    const unit = owner[at] as number;
    const lbPerAcre = rate[at] as number;
    if (unit < 0) {
      if (visits[at] === 0) continue;
      outsideM2 += cellM2;
      outsideAmount += cellM2 * lbPerAcre;
      continue;
    }
    addGround(
      grounds[unit] as Ground,
      share[unit] as number,
      visits[at] as number,
      lbPerAcre,
      again[at] as number,
      tolerancePct,
    );
  }
  return sumGrounds(grounds, outsideM2, outsideAmount);
}

/** Ground of the field in no unit, m²; 0 where it is no more than rounding. */
function elsewhereOf(field: Field, plan: RatePlan): number {
  const units = plan.units.length;
  const faces = layeredFaces([...plan.units.map(({shape}) => shape), field.outline]);
  const rest = faces.reduce((sum, {shapes, areaM2}) => (shapes[0] === units ? sum + areaM2 : sum), 0);
  return rest >= LEAST_ELSEWHERE_M2 ? rest : 0;
}

function withoutOverlap(row: AppliedRow): AppliedRow {
  return {...row, overlapAcres: Number.NaN, overlapLb: Number.NaN};
}

function loggedLb(drive: Drive, rate: Float64Array, swathM: Float64Array): number {
  let sum = 0;
  for (let k = 0; k < rate.length; k++) {
    const lb = ((rate[k] as number) * (swathM[k] as number) * (drive.stepM[k] as number)) / SQUARE_METRES_PER_ACRE;
    if (lb > 0) sum += lb;
  }
  return sum;
}

function differences(plan: RatePlan, {rate, visits}: Coverage, owner: Int32Array): Float64Array {
  return rate.map((lbPerAcre, at) => {
    const unit = owner[at] as number;
    if (unit === OUTSIDE) return visits[at] ? lbPerAcre : Number.NaN;
    return lbPerAcre - (plan.units[unit]?.rateLbPerAcre ?? plan.elsewhereLbPerAcre);
  });
}

const oddDistances: Issue = {
  code: "as-applied/distance-odd",
  severity: "warning",
  message: "The logged distances are not those between the positions; the positions were gone by.",
  hint: "Check the unit of the distance.",
};

function nothingUsable(log: AppliedLog, byReason: Readonly<Record<string, number>>): FieldError {
  const why = Object.entries(byReason)
    .map(([reason, count]) => `${count} ${reason}`)
    .join(", ");
  return new FieldError("as-applied/nothing-usable", `Not one record of ${log.id} put anything out: ${why}.`, {
    place: {file: log.id},
    hint: "Check which columns hold the rate, the swath and the working state.",
  });
}

function elsewhere(id: string, field: string): FieldError {
  return new FieldError("as-applied/elsewhere", `Nothing of ${id} fell on ${field}.`, {
    place: {file: id},
    hint: "Check that the log is of this field.",
  });
}
