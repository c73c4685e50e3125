import {result} from "./field.ts";
import {shapesOf} from "./shapes.ts";
import type {Selection} from "./view.ts";

/** The sampling unit of that id in one of the plans, ready to be selected; a remark may be about one. */
export function unitPlace(id: string | undefined): Selection | undefined {
  const made = result.value;
  if (!made || id === undefined) return undefined;
  for (const {strategy} of made.strategies) {
    const name = `plan-${strategy}-units`;
    const units = made.shapes.includes(name) ? (shapesOf(made.id, name)?.features ?? []) : [];
    if (units.some((unit) => String(unit.properties?.sample ?? unit.id) === id)) return {strategy, unit: id};
  }
  return undefined;
}
