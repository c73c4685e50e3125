import type {Issue} from "../errors.ts";
import type {Field} from "../geo/field.ts";
import {intersection} from "../geo/geos.ts";
import {areaM2, distanceM} from "../geo/measure.ts";
import {METRES_PER_MILE, SQUARE_METRES_PER_ACRE} from "../units/factors.ts";
import {formatArea, formatLength, formatNumber} from "../units/format.ts";
import type {Metres} from "../units/quantity.ts";
import {expectedErrorPct} from "./cores-needed.ts";
import type {UnitGround} from "./make-plan.ts";
import type {ResolvedOptions} from "./options.ts";
import {timeOnField, USUAL_PACE} from "./pace.ts";
import {startSpacingM} from "./place-cores.ts";
import type {SamplingPlan, SamplingUnit} from "./plan.ts";

/**
 * What the user should know of a plan's units and cores. `grounds[i]` is where the cores of unit i could go; `blocked`
 * counts the legs of the route that go straight through an obstacle for want of another way.
 */
export function remarksOn(
  field: Field,
  plan: Pick<SamplingPlan, "units" | "duplicates" | "walk" | "route">,
  grounds: readonly UnitGround[],
  settings: ResolvedOptions,
  {circleM, blocked}: {readonly circleM: number | undefined; readonly blocked: number},
): Issue[] {
  const {units} = plan;
  const issues: Issue[] = [areaPerSample(units), expectedError(settings)];
  const those = (which: (unit: SamplingUnit, ground: UnitGround) => boolean): SamplingUnit[] =>
    units.filter((unit, i) => which(unit, grounds[i] as UnitGround));

  const without = those((unit) => unit.cores.length === 0);
  if (without.length > 0) {
    issues.push({
      code: "sampling/no-room",
      severity: "error",
      message: `There is no room for cores in ${list(without)}.`,
      hint: "Make keep-outs or the distance from edges smaller, or join the unit to a neighbour.",
    });
  }
  const narrow = those((unit, {room, unit: {kept}}) => unit.cores.length > 0 && !kept && room.kept < 1);
  if (narrow.length > 0) {
    const least = Math.min(...narrow.map((unit) => unit.edge ?? 0));
    issues.push({
      code: "sampling/edge-reduced",
      severity: "note",
      message: `${count(narrow, "unit is", "units are")} too narrow${settings.keepOut.length > 0 ? " or too full of keep-outs" : ""} to keep ${formatLength(settings.edge)} from edges; cores keep as little as ${formatLength(least)} in ${list(narrow)}.`,
    });
  }
  const tight = those(
    (unit, {room, unit: {kept}}) =>
      circleM === undefined &&
      unit.transect === undefined &&
      !kept &&
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
  const moved = those(
    (unit, {wanted}) => unit.centre !== undefined && distanceM(unit.centre, wanted) > FAR * Math.sqrt(unit.area),
  );
  if (moved.length > 0) {
    issues.push({
      code: "sampling/point-moved",
      severity: "warning",
      message: `The sampling point had to move far from the middle in ${list(moved)}.`,
      hint: "Check that it still stands for its cell.",
    });
  }
  issues.push(...keptOutRemarks(field, units, settings), ...transectRemarks(units));
  if (plan.duplicates) {
    issues.push({
      code: "sampling/duplicates",
      severity: "note",
      message: `Second bags, for the noise of one bag: ${plan.duplicates.map(({id, of}) => `${id} from ${of}`).join(", ")}.`,
      ...(plan.duplicates.length < (settings.duplicates ?? 0) && {
        hint: `${settings.duplicates} were asked for; no other unit has room for cores.`,
      }),
    });
  }
  if (plan.route) issues.push(...routeRemarks(plan, blocked));
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

function expectedError({cores, coreCvPct, coreCvSource}: ResolvedOptions): Issue {
  const error = expectedErrorPct(coreCvPct, cores, 0.95);
  return {
    code: "sampling/expected-error",
    severity: "note",
    message: `A bag of ${cores} cores is within ${formatNumber(error)} % of its unit's mean 19 times in 20, if single cores vary by ${formatNumber(coreCvPct)} % (coefficient of variation${coreCvSource === undefined ? "" : `, ${coreCvSource}`}); the laboratory's own error comes on top.`,
    hint: "Send duplicate bags from a few units to learn your own spread.",
  };
}

/** Keep-outs take room for cores; every acre still belongs to a unit. */
function keptOutRemarks(field: Field, units: readonly SamplingUnit[], {keepOuts = []}: ResolvedOptions): Issue[] {
  if (keepOuts.length === 0) return [];
  const each = keepOuts.map(({name, shape}) => `${name} ${acres(areaM2(intersection(field.outline, shape)))}`);
  const touched = units.filter(({keptOut = 0}) => keptOut > SPECK_M2);
  const lost = touched.map(({id, keptOut = 0, area}) => `${id} ${acres(keptOut)} of ${acres(area)}`);
  const open = units.reduce((sum, {room = 0}) => sum + room, 0);
  const some = lost.slice(0, MOST_NAMED).join(", ");
  const more = lost.length > MOST_NAMED ? ` and ${lost.length - MOST_NAMED} more` : "";
  return [
    {
      code: "sampling/kept-out",
      severity: "note",
      message: `Keep-outs take room for cores and no acres (${each.join(", ")}). ${lost.length === 0 ? "No unit loses any" : `Lost for cores: ${some}${more}`}. With the distances from edges ${acres(open)} of ${acres(areaM2(field.outline))} are open to cores.`,
    },
  ];
}

function transectRemarks(units: readonly SamplingUnit[]): Issue[] {
  const lines = units.filter(({transect}) => transect !== undefined);
  if (lines.length === 0) return [];
  const each = lines.slice(0, MOST_NAMED).map(({id, transect = 0}) => `${id} ${formatLength(transect)}`);
  const more = lines.length > MOST_NAMED ? ` and ${lines.length - MOST_NAMED} more` : "";
  return [
    {
      code: "sampling/transect",
      severity: "note",
      message: `Cores stand along one line through each unit: ${each.join(", ")}${more}. Ground off the line has no share in the bag.`,
    },
  ];
}

/** On the way: its length and time, and legs that find none. */
export function routeRemarks(
  {units, duplicates = [], walk = 0 as Metres}: Pick<SamplingPlan, "units" | "duplicates" | "walk">,
  blocked: number,
): Issue[] {
  const {hours, betweenM, withinM} = timeOnField({units, duplicates, walk}, USUAL_PACE);
  const miles = (metres: number): string => `${formatNumber(metres / METRES_PER_MILE, 1)} mi`;
  const issues: Issue[] = [
    {
      code: "sampling/time",
      severity: "note",
      message: `The way past all cores is ${miles(walk)}: ${miles(betweenM)} from bag to bag and ${miles(withinM)} from core to core. At ${USUAL_PACE.drivingMph} and ${USUAL_PACE.walkingMph} mph, ${USUAL_PACE.secondsPerCore} s a core and ${USUAL_PACE.secondsPerBag} s a bag (assumed) it takes ${formatNumber(hours, 1)} h.`,
    },
  ];
  if (blocked > 0) {
    issues.push({
      code: "sampling/no-way",
      severity: "warning",
      message: `${blocked} ${blocked === 1 ? "leg" : "legs"} of the route cannot go round an obstacle and are drawn straight through it.`,
      hint: "Let that obstacle be crossed, or leave the field's edge open to the way.",
    });
  }
  return issues;
}

/** Less is the error of two outlines. */
const SPECK_M2 = 1;
const acres = (areaM2: number): string => formatArea(areaM2, "us", areaM2 < SQUARE_METRES_PER_ACRE ? 2 : 1);

function count(units: readonly SamplingUnit[], one: string, many: string): string {
  return `${units.length} ${units.length === 1 ? one : many}`;
}

function list(units: readonly SamplingUnit[]): string {
  const named = units.slice(0, MOST_NAMED).map((unit) => `${unit.id} (${unit.label})`);
  const more = units.length - named.length;
  return named.join(", ") + (more > 0 ? ` and ${more} more` : "");
}
