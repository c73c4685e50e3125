import type {Issue} from "../errors.ts";
import {areaM2, centroid, distanceM} from "../geo/measure.ts";
import {formatArea, formatLength, formatNumber} from "../units/format.ts";
import type {CoreRoom} from "./core-room.ts";
import {expectedErrorPct} from "./cores-needed.ts";
import type {ResolvedOptions} from "./options.ts";
import {startSpacingM} from "./place-cores.ts";
import type {SamplingUnit} from "./plan.ts";

/** What the user should know of a plan's units and cores. `rooms[i]` is where the cores of `units[i]` could go. */
export function remarksOn(
  units: readonly SamplingUnit[],
  rooms: readonly CoreRoom[],
  settings: ResolvedOptions,
  circleM: number | undefined,
): Issue[] {
  const issues: Issue[] = [areaPerSample(units), expectedError(settings)];
  const those = (which: (unit: SamplingUnit, room: CoreRoom) => boolean): SamplingUnit[] =>
    units.filter((unit, i) => which(unit, rooms[i] as CoreRoom));

  const without = those((unit) => unit.cores.length === 0);
  if (without.length > 0) {
    issues.push({
      code: "sampling/no-room",
      severity: "error",
      message: `There is no room for cores in ${list(without)}.`,
      hint: "Make keep-outs or the distance from edges smaller, or join the unit to a neighbour.",
    });
  }
  const narrow = those((unit, room) => unit.cores.length > 0 && room.kept < 1);
  if (narrow.length > 0) {
    const least = Math.min(...narrow.map((unit) => unit.edge ?? 0));
    issues.push({
      code: "sampling/edge-reduced",
      severity: "note",
      message: `${count(narrow, "unit is", "units are")} too narrow${settings.keepOut.length > 0 ? " or too full of keep-outs" : ""} to keep ${formatLength(settings.edge)} from edges; cores keep as little as ${formatLength(least)} in ${list(narrow)}.`,
    });
  }
  const tight = those(
    (unit, room) =>
      circleM === undefined &&
      unit.spacing !== undefined &&
      unit.spacing < startSpacingM(areaM2(room.shape), settings.cores),
  );
  if (tight.length > 0) {
    const least = Math.min(...tight.map((unit) => unit.spacing as number));
    issues.push({
      code: "sampling/spacing-reduced",
      severity: "note",
      message: `Cores stand closer together than wanted, down to ${formatLength(least)}, in ${list(tight)}.`,
    });
  }
  const covered = those((unit) => (unit.keptOut ?? 0) > HALF * unit.area);
  if (covered.length > 0) {
    issues.push({
      code: "sampling/mostly-kept-out",
      severity: "warning",
      message: `Keep-outs cover more than half of ${list(covered)}: cores speak for ground they did not touch.`,
      hint: "Draw such ground as a zone of its own, or leave it out of the field.",
    });
  }
  const moved = those((unit) => {
    const middle = centroid(unit.shape);
    return unit.centre !== undefined && distanceM(unit.centre, middle) > FAR * Math.sqrt(unit.area);
  });
  if (moved.length > 0) {
    issues.push({
      code: "sampling/point-moved",
      severity: "warning",
      message: `The sampling point had to move far from the middle in ${list(moved)}.`,
      hint: "Check that it still stands for its cell.",
    });
  }
  return issues;
}

// --- inside ---------------------------------------------------------------------------------------------------

const HALF = 0.5;
/** Share of the side of a unit's square. */
const FAR = 1 / 3;
const MOST_NAMED = 12;

function areaPerSample(units: readonly SamplingUnit[]): Issue {
  const areas = units.map((unit) => unit.area);
  const mean = areas.reduce((sum, area) => sum + area, 0) / areas.length;
  const message =
    units.length === 1
      ? `One sample stands for ${formatArea(mean)}.`
      : `${units.length} samples stand for ${formatArea(mean)} each on average, from ${formatArea(Math.min(...areas))} to ${formatArea(Math.max(...areas))}.`;
  return {code: "sampling/area-per-sample", severity: "note", message};
}

function expectedError({cores, coreCvPct}: ResolvedOptions): Issue {
  const error = expectedErrorPct(coreCvPct, cores, 0.95);
  return {
    code: "sampling/expected-error",
    severity: "note",
    message: `A bag of ${cores} cores is within ${formatNumber(error)} % of its unit's mean 19 times in 20, if single cores vary by ${formatNumber(coreCvPct)} % (coefficient of variation); the laboratory's own error comes on top.`,
    hint: "Send duplicate bags from a few units to learn your own spread.",
  };
}

function count(units: readonly SamplingUnit[], one: string, many: string): string {
  return `${units.length} ${units.length === 1 ? one : many}`;
}

function list(units: readonly SamplingUnit[]): string {
  const named = units.slice(0, MOST_NAMED).map((unit) => `${unit.id} (${unit.label})`);
  const more = units.length - named.length;
  return named.join(", ") + (more > 0 ? ` and ${more} more` : "");
}
