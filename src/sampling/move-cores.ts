import type {Issue} from "../errors.ts";
import type {Field} from "../geo/field.ts";
import {contains, distanceM, distanceToEdgeM} from "../geo/measure.ts";
import type {XY} from "../geo/shapes.ts";
import {formatLength} from "../units/format.ts";
import {metres} from "../units/quantity.ts";
import {type PlanOptions, type ResolvedOptions, resolveOptions} from "./options.ts";
import {leastSpacingM} from "./place-cores.ts";
import type {Core, SamplingPlan, SamplingUnit, Strategy} from "./plan.ts";
import {routeRemarks} from "./plan-remarks.ts";
import {findRoutes} from "./route.ts";
import {routedWalk, straightWalk} from "./walk.ts";

/** A core put elsewhere by hand, metres in the field's frame. */
export interface CoreMove {
  /** Id of its bag, and its number in it, as on the crew's sheet. */
  readonly bag: string;
  readonly number: number;
  /** Only needed where two plans have a bag of that id. */
  readonly strategy?: Strategy | undefined;
  /** Where the plan had put it. When the plan puts it elsewhere by now, the move no longer applies. */
  readonly from?: XY | undefined;
  readonly to: XY;
  /** In the words of who moved it. */
  readonly reason?: string | undefined;
}

/** What became of a move. */
export interface MoveOutcome {
  /** Position in the list, from 1. */
  readonly number: number;
  /** Id of the core, as in KFG07-3. */
  readonly core: string;
  /** Plan the core was found in. */
  readonly strategy?: Strategy;
  readonly applied: boolean;
  /** How far it was moved, or why not. */
  readonly sentence: string;
}

export interface MovedCores {
  readonly plans: readonly SamplingPlan[];
  /** One for each move, in order. */
  readonly outcomes: readonly MoveOutcome[];
  /** On moves of cores that are in none of the plans; the others' stand with the plans. */
  readonly issues: readonly Issue[];
}

/**
 * Puts cores of plans elsewhere, as a person who knows the ground wants them.
 *
 * A core stays in its bag, so its place must lie in the unit the bag speaks for, and in no keep-out; a move that does not
 * is left out and told, as is one of a core that is not there. Units, acres and ids are not touched, nor is the plan's
 * mark: lab results go on belonging to the same ground. A core keeps its number and its turn in the walk, which is led
 * past its new place. Distances from edges are not asked of a person; a core nearer than the plan keeps is told.
 *
 * @param options - As the plans were made with: keep-outs, edges, gate and route.
 */
export function moveCores(
  field: Field,
  plans: readonly SamplingPlan[],
  moves: readonly CoreMove[],
  options: PlanOptions,
): MovedCores {
  if (moves.length === 0) return {plans, outcomes: [], issues: []};
  const settings = resolveOptions(field, options, 1);
  const judged = moves.map((move, i) => judge(plans, moves, i, move, settings));
  const outcomes = judged.map(({move, home, refusal, nearness}, i): MoveOutcome => {
    const sentence = refusal ?? `Moved ${movedBy(move, home)}${nearness ?? ""}.`;
    return {
      number: i + 1,
      core: nameOf(move),
      ...(home && {strategy: home.plan.strategy}),
      applied: refusal === undefined,
      sentence,
    };
  });
  return {
    plans: plans.map((plan) => {
      const own = judged.filter(({home}) => home?.plan === plan);
      return own.length === 0 ? plan : withMoves(field, plan, own, settings);
    }),
    outcomes,
    issues: judged.flatMap((one) => (one.home ? [] : [leftOut(one)])),
  };
}

// --- inside ---------------------------------------------------------------------------------------------------

/** A place this near to where a core was is the same place: files round coordinates. */
const SAME_PLACE_M = 1;

/** Where a core is found. */
interface Home {
  readonly plan: SamplingPlan;
  readonly unit: SamplingUnit;
  readonly core: Core;
}

interface Judged {
  readonly move: CoreMove;
  readonly home?: Home;
  /** Why the move is left out. */
  readonly refusal?: string;
  /** That it now lies nearer to an edge than the plan keeps. */
  readonly nearness?: string;
}

const nameOf = ({bag, number}: CoreMove): string => `${bag}-${number}`;

function judge(
  plans: readonly SamplingPlan[],
  moves: readonly CoreMove[],
  at: number,
  move: CoreMove,
  {keepOuts = []}: ResolvedOptions,
): Judged {
  const {bag, number, from, to} = move;
  const asked = plans.filter(({strategy}) => move.strategy === undefined || move.strategy === strategy);
  const bags = asked.flatMap((plan) => bagsOf(plan).filter(({id}) => id === bag));
  const homes = bags.flatMap(({plan, unit, cores}): Home[] => {
    const core = cores.find((one) => one.number === number);
    return core ? [{plan, unit, core}] : [];
  });
  const [home] = homes;
  if (!home) {
    const [found] = bags;
    const which = move.strategy === undefined ? "No plan" : `The plan by ${move.strategy}`;
    const refusal = found
      ? `${bag} has ${found.cores.length} cores, and none of the number ${number}.`
      : `${which} has ${move.strategy === undefined ? "a" : "no"} bag ${bag}.`;
    return {move, refusal};
  }
  if (homes.length > 1)
    return {move, refusal: `${homes.length} plans have a bag ${bag}, and the move does not say which.`};
  const again = moves.findIndex((other, i) => i > at && other.bag === bag && other.number === number);
  if (again >= 0) return {move, home, refusal: `It is moved again by move ${again + 1}, which counts.`};
  const {unit, core, plan} = home;
  if (from && distanceM(from, core) > SAME_PLACE_M) {
    const far = formatLength(distanceM(from, core));
    return {move, home, refusal: `The plan now puts it ${far} from where it was when it was moved.`};
  }
  if (!contains(unit.shape, to.x, to.y)) {
    const other = plan.units.find(({shape}) => contains(shape, to.x, to.y));
    const where = other ? `in ${other.id} (${other.label})` : "outside the field";
    return {move, home, refusal: `Its place lies ${where}, and the bag speaks for ${unit.label}.`};
  }
  const keepOut = keepOuts.find(({shape}) => contains(shape, to.x, to.y));
  if (keepOut) return {move, home, refusal: `Its place lies in ground that is kept out of (${keepOut.name}).`};
  const edge = distanceToEdgeM(unit.shape, to);
  return {
    move,
    home,
    ...(edge < (unit.edge ?? 0) && {nearness: `, to ${formatLength(edge)} from the edge of its unit`}),
  };
}

interface Bag {
  readonly id: string;
  readonly plan: SamplingPlan;
  readonly unit: SamplingUnit;
  readonly cores: readonly Core[];
}

function bagsOf(plan: SamplingPlan): Bag[] {
  const {units, duplicates = []} = plan;
  return units.flatMap((unit) => [
    {id: unit.id, plan, unit, cores: unit.cores},
    ...duplicates.filter(({of}) => of === unit.id).map(({id, cores}) => ({id, plan, unit, cores})),
  ]);
}

function movedBy({to, reason}: CoreMove, home: Home | undefined): string {
  const far = home ? formatLength(distanceM(home.core, to)) : "";
  return reason === undefined ? far : `${far} (${reason})`;
}

function withMoves(
  field: Field,
  plan: SamplingPlan,
  judged: readonly Judged[],
  settings: ResolvedOptions,
): SamplingPlan {
  const made = judged.filter(({refusal}) => refusal === undefined);
  const left = judged.filter(({refusal}) => refusal !== undefined).map(leftOut);
  if (made.length === 0) return {...plan, issues: [...plan.issues, ...left]};
  const placed = (bag: string, cores: readonly Core[]): readonly Core[] =>
    cores.map((core) => {
      const move = made.find(({move: one}) => one.bag === bag && one.number === core.number)?.move;
      return move ? {number: core.number, ...move.to, movedFrom: {x: core.x, y: core.y}} : core;
    });
  const units = plan.units.map((unit) => withCores(unit, placed(unit.id, unit.cores)));
  const duplicates = plan.duplicates?.map((bag) => ({...bag, cores: placed(bag.id, bag.cores)}));
  const {blocked, ...walked} = walkPast(field, units, duplicates ?? [], settings);
  const moved = {...plan, units, ...(duplicates && {duplicates}), ...walked};
  return {
    ...moved,
    issues: [
      ...plan.issues.filter(({code}) => !ON_THE_WAY.includes(code)),
      ...(moved.route ? routeRemarks(moved, blocked) : []),
      movedIssue(made),
      ...left,
    ],
    madeFrom: {...plan.madeFrom, options: {...plan.madeFrom.options, moves: made.map(({move}) => move)}},
  };
}

/** Remarks on a way that is no longer the way. */
const ON_THE_WAY = ["sampling/time", "sampling/no-way"];

function withCores(unit: SamplingUnit, cores: readonly Core[]): SamplingUnit {
  const moved = cores.filter(({movedFrom}) => movedFrom);
  if (moved.length === 0) return unit;
  const nearest = Math.min(...moved.map((core) => distanceToEdgeM(unit.shape, core)));
  return {
    ...unit,
    cores,
    ...(unit.edge !== undefined && {edge: metres(Math.min(unit.edge, nearest))}),
    ...(unit.spacing !== undefined && {spacing: metres(leastSpacingM(cores))}),
  };
}

/** The walk in the order the plan has, past the places as they are. */
function walkPast(
  field: Field,
  units: readonly SamplingUnit[],
  duplicates: NonNullable<SamplingPlan["duplicates"]>,
  {route, start, seed, keepOuts = []}: ResolvedOptions,
) {
  const obstacles = keepOuts.flatMap(({canBeCrossed, shape}) => (canBeCrossed ? [] : shape));
  const walk = route
    ? routedWalk(findRoutes(field.outline, obstacles, route, start, seed), {start, route})
    : straightWalk(start);
  const past = (cores: readonly Core[]): void => walk.follow(cores.map(({x, y}) => ({x, y})));
  for (const unit of units) {
    past(unit.cores);
    for (const {of, cores} of duplicates) if (of === unit.id) past(cores);
  }
  return walk.end();
}

function movedIssue(made: readonly Judged[]): Issue {
  const each = made.map(({move, home, nearness = ""}) => `${nameOf(move)} ${movedBy(move, home)}${nearness}`);
  return {
    code: "sampling/moved-by-hand",
    severity: "note",
    message: `Moved by hand: ${each.join("; ")}.`,
    hint: "A core that was chosen is no longer a random one: move few, and only for a reason on the ground.",
  };
}

function leftOut({move, home, refusal = ""}: Judged): Issue {
  return {
    code: "sampling/move-left-out",
    severity: "warning",
    message: `Core ${nameOf(move)} was not moved as the job asks. ${refusal}`,
    ...(home && {place: {featureId: home.unit.id}}),
    hint: "Move it again, or take the move out.",
  };
}
