import type {UnitValue} from "../lab/soil-test.ts";
import {misfits} from "./fit-test.ts";
import type {Guide, NutrientRule} from "./guide.ts";

/**
 * The guides that have rules for these tests, crops and state, as they stand: nothing converted, nothing overridden.
 *
 * A guide fits when it has every crop and when each of its nutrients that was measured at all was measured the way it
 * needs, at least one of them.
 *
 * @param crops - Names as in a guide's crops.
 */
export function guidesThatFit(
  guides: readonly Guide[],
  tests: readonly UnitValue[],
  crops: readonly string[],
  state?: string,
): Guide[] {
  return guides.filter((guide) => {
    if (state !== undefined && !isFor(guide, state)) return false;
    const names = crops.map((crop) => crop.trim().toLowerCase());
    const rules = guide.nutrients.filter((rule) => tests.some(({analyte}) => analyte === rule.test.analyte));
    return (
      names.every((name) => guide.crops.some(({id}) => id === name)) &&
      rules.length > 0 &&
      rules.every(
        (rule) =>
          tests.some((test) => test.analyte === rule.test.analyte && misfits(rule.test, test).length === 0) &&
          names.every((name) => hasCrop(rule, name)),
      )
    );
  });
}

/** Whether a guide was made for a state, by its two-letter code; one that names no states is for all. */
export function isFor({states}: Guide, state: string): boolean {
  return states === undefined || states.includes(state.trim().toUpperCase());
}

function hasCrop(rule: NutrientRule, crop: string): boolean {
  const rows = rule.kind === "buildup and maintenance" ? rule.limits : rule.rows;
  return rows.some(({crops}) => crops.includes(crop));
}
