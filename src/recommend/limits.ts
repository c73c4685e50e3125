import {FieldError} from "../errors.ts";
import {formatShort as n} from "../units/format.ts";
import {type Given, type RuleOptions, weakest} from "./evaluate.ts";
import type {BuildupRule, Cited, Guide, LimitRow} from "./guide.ts";
import type {WorkingStep} from "./recommendation.ts";

/** The soil tests that part one rate from another, for one soil and rotation. */
export interface Limits {
  readonly critical: Cited;
  readonly maintenance: Cited;
  readonly zero?: Cited;
  readonly row: LimitRow;
}

/**
 * Of the rows for this soil, the one with the highest critical level among the crops grown, its limits worked out for
 * the soil's CEC.
 *
 * @throws {FieldError} `recommend/no-soil-group` when the rule has limits by group and none of them is named.
 */
export function limitsFor(
  guide: Guide,
  rule: BuildupRule,
  rotation: readonly string[],
  cec: number,
  options: RuleOptions,
): Limits {
  const boundary = rule.cec?.boundary?.value;
  const side = boundary === undefined ? undefined : cecSide(cec, boundary, lowIs(rule, options));
  const byGroup = rule.limits.some(({group}) => group !== undefined);
  if (byGroup) checkGroup(guide, options.soilGroup);
  const rows = rule.limits.filter(
    (row) =>
      (row.cec === undefined || row.cec === side) &&
      (row.group === undefined || row.group === options.soilGroup) &&
      row.crops.some((crop) => rotation.includes(crop)),
  );
  const [first, ...others] = rows;
  if (!first) throw new Error(`${guide.id} has no ${rule.nutrient} limits for ${rotation.join(", ")}`);
  const row = others.reduce((best, next) => (next.critical.value > best.critical.value ? next : best), first);
  const shift = row.perCec ? row.perCec.value * cec : 0;
  const at = (limit: Cited): Cited => ({
    value: limit.value + shift,
    basis: weakest(row.perCec ? [limit, row.perCec] : [limit]),
  });
  return {
    critical: at(row.critical),
    maintenance: at(row.maintenance),
    ...(row.zero && {zero: at(row.zero)}),
    row,
  };
}

/** The limits as lines of the working. */
export function limitSteps(guide: Guide, rule: BuildupRule, limits: Limits, given: Given, cec: number): WorkingStep[] {
  const {row} = limits;
  const named = [
    ["critical level", limits.critical, row.critical],
    ["maintenance limit", limits.maintenance, row.maintenance],
    ["nothing due from", limits.zero, row.zero],
  ] as const;
  const words = limitsInWords(rule, row, given);
  return named.flatMap(([name, limit, base]) => {
    if (!limit || !base) return [];
    const sum = row.perCec ? `: ${n(base.value)} + ${n(row.perCec.value)} × ${n(cec)}` : "";
    const text = `${name} ${words}${sum}`;
    return [{text, value: limit.value, unit: rule.test.unitLabel, source: guide.cite, basis: limit.basis}];
  });
}

/** "for corn and soybean", "for wheat, which the whole rotation is held to", "for corn, CEC above 5". */
function limitsInWords(rule: BuildupRule, row: LimitRow, {rotation, options}: Given): string {
  const its = rotation.filter((crop) => row.crops.includes(crop));
  const raised = its.length < rotation.length ? ", which the whole rotation is held to" : "";
  const [low, high] = lowIs(rule, options) === "below" ? ["below", "at least"] : ["at most", "above"];
  const boundary = rule.cec?.boundary;
  const side = boundary && row.cec ? `, CEC ${row.cec === "low" ? low : high} ${boundary.value}` : "";
  return `for ${its.join(" and ")}${raised}${side}${row.group ? `, ${row.group}` : ""}`;
}

/** The side of the boundary that the boundary itself is on: the user's word, or else the guide's. */
function lowIs({cec}: BuildupRule, {cecBoundary}: RuleOptions): "at most" | "below" {
  return cecBoundary ?? cec?.low ?? "at most";
}

function cecSide(cec: number, boundary: number, low: "at most" | "below"): "low" | "high" {
  return cec < boundary || (cec === boundary && low === "at most") ? "low" : "high";
}

function checkGroup(guide: Guide, group: string | undefined): void {
  const groups = guide.soilGroups;
  if (!groups) throw new Error(`${guide.id} has limits by soil group and no groups`);
  if (group !== undefined && groups.names.includes(group)) return;
  const message =
    group === undefined
      ? `${guide.cite} has limits by ${groups.what}, and none was named.`
      : `${guide.cite} knows no ${groups.what} "${group}".`;
  throw new FieldError("recommend/no-soil-group", message, {hint: `Name one of: ${groups.names.join(", ")}.`});
}
