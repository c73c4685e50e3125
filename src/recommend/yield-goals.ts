import {FieldError, type Issue} from "../errors.ts";
import type {MultiPolygon} from "../geo/shapes.ts";
import type {Layer} from "../grid/layer.ts";
import {maskOf} from "../grid/rasterize.ts";
import {formatShort as n, roundHalfAway} from "../units/format.ts";

/** Where the yield goals of units come from, beside the one of the field. */
export type GoalSource =
  /** A goal for each unit, in the crop's yield unit. */
  | {readonly byUnit: Readonly<Record<string, number>>}
  /** Yield history as percent of each season's field mean: units get the field's goal in proportion. */
  | {readonly percentOfMean: Layer<"% of mean">};

export interface UnitGoal {
  readonly yieldGoal: number;
  /** How it came about, for the working. */
  readonly goalFrom: string;
}

/**
 * One yield goal for each unit.
 *
 * From a layer: mean percent of mean over the unit's cells × the field's goal, to a tenth. Units whose cells hold no
 * value, and units a map does not name, get the field's goal, with an issue.
 *
 * @param fieldGoal - In the crop's unit, bu/ac or ton/ac.
 * @throws {FieldError} `recommend/bad-yield-goal`, `recommend/no-such-unit` for a goal of a unit that does not exist.
 */
export function yieldGoals(
  fieldGoal: number,
  units: readonly {readonly id: string; readonly shape: MultiPolygon}[],
  source: GoalSource,
): {goals: ReadonlyMap<string, UnitGoal>; issues: readonly Issue[]} {
  const own = "byUnit" in source ? fromMap(source.byUnit, units) : fromLayer(fieldGoal, source.percentOfMean, units);
  const without = units.filter(({id}) => !own.has(id)).map(({id}) => id);
  const goals = new Map(
    units.map(({id}) => [id, own.get(id) ?? {yieldGoal: fieldGoal, goalFrom: "the field's goal"}] as const),
  );
  for (const [id, {yieldGoal}] of goals) {
    if (yieldGoal > 0 && yieldGoal < Infinity) continue;
    throw new FieldError("recommend/bad-yield-goal", `A yield goal of ${yieldGoal} for unit "${id}" is not possible.`, {
      place: {featureId: id},
      hint: "Give the yield you expect there.",
    });
  }
  const issues: Issue[] =
    without.length === 0
      ? []
      : [
          {
            code: "recommend/field-yield-goal",
            severity: "note",
            message: `${without.length} of ${units.length} units (${without.slice(0, 6).join(", ")}${without.length > 6 ? " and more" : ""}) have no yield goal of their own and got the field's, ${n(fieldGoal)}.`,
          },
        ];
  return {goals, issues};
}

function fromMap(
  byUnit: Readonly<Record<string, number>>,
  units: readonly {readonly id: string}[],
): Map<string, UnitGoal> {
  const stray = Object.keys(byUnit).find((id) => !units.some((unit) => unit.id === id));
  if (stray !== undefined) {
    throw new FieldError("recommend/no-such-unit", `There is no unit "${stray}" to give a yield goal to.`, {
      hint: `Units are ${units
        .slice(0, 8)
        .map(({id}) => id)
        .join(", ")}${units.length > 8 ? " and more" : ""}.`,
    });
  }
  return new Map(Object.entries(byUnit).map(([id, yieldGoal]) => [id, {yieldGoal, goalFrom: "set for this unit"}]));
}

function fromLayer(
  fieldGoal: number,
  layer: Layer,
  units: readonly {readonly id: string; readonly shape: MultiPolygon}[],
): Map<string, UnitGoal> {
  const goals = new Map<string, UnitGoal>();
  for (const {id, shape} of units) {
    const mask = maskOf(layer.grid, shape);
    let sum = 0;
    let count = 0;
    for (let i = 0; i < mask.length; i++) {
      const value = layer.values[i] as number;
      if (mask[i] === 0 || Number.isNaN(value)) continue;
      sum += value;
      count++;
    }
    if (count === 0) continue;
    const percent = sum / count;
    goals.set(id, {
      yieldGoal: roundHalfAway((fieldGoal * percent) / 100, 1),
      goalFrom: `${n(fieldGoal)} for the field × ${n(percent, 1)} % of its mean here (${layer.label})`,
    });
  }
  return goals;
}
