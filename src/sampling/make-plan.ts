import type {Issue} from "../errors.ts";
import type {Field} from "../geo/field.ts";
import {areaM2, centroid} from "../geo/measure.ts";
import {nearestPointIn} from "../geo/nearest.ts";
import type {MultiPolygon, XY} from "../geo/shapes.ts";
import {type Random, seededRandom} from "../stats/random.ts";
import {metres, squareMetres} from "../units/quantity.ts";
import {type CoreRoom, coreRoomsOf} from "./core-room.ts";
import {pickForDuplicates} from "./duplicates.ts";
import {checkCount, type ResolvedOptions} from "./options.ts";
import {leastSpacingM, placeCores} from "./place-cores.ts";
import type {Core, DuplicateBag, SamplingPlan, SamplingUnit, Strategy} from "./plan.ts";
import {remarksOn} from "./plan-remarks.ts";
import {pointCircle} from "./point-circle.ts";
import {findRoutes} from "./route.ts";
import {sampleIds} from "./sample-id.ts";
import {transectCores} from "./transect.ts";
import {routedWalk, straightWalk} from "./walk.ts";

/** Ground for one composite, before it has an id and cores. */
export interface UnitDraft {
  readonly label: string;
  readonly shape: MultiPolygon;
  readonly zone?: number;
  /** Where the middle of its core circle should be. Default: the middle of its shape. */
  readonly point?: XY;
  /** Id and cores it had before and keeps, in their order. */
  readonly kept?: {readonly id: string; readonly cores: readonly XY[]};
}

export interface PlanDraft {
  readonly strategy: Strategy;
  /** In the order they are numbered and walked, unless a route is asked for. */
  readonly units: readonly UnitDraft[];
  /** Labels that count along the walk. */
  readonly labelAt?: (index: number, count: number) => string;
  readonly pooled: boolean;
  /** Direction the field runs in, radians counter-clockwise from east. */
  readonly angle: number;
  /** All cores within this distance of the middle of their unit; undefined: all over the unit. */
  readonly circleM?: number | undefined;
  /** True: cores along a line through the unit. */
  readonly alongLine?: boolean;
  readonly issues: readonly Issue[];
  readonly inputs: readonly string[];
  /** The strategy's own options, resolved. */
  readonly options: Readonly<Record<string, unknown>>;
}

/**
 * Gives every unit its id, its cores and their order, and says what the user should know of the plan.
 *
 * Each unit draws its own random numbers, named by its number, so that a unit's cores do not hang on other units.
 */
export function makePlan(field: Field, draft: PlanDraft, settings: ResolvedOptions): SamplingPlan {
  const {strategy, angle, circleM} = draft;
  const roomIn = coreRoomsOf(field.outline, settings.edge, settings.fieldEdge, settings.keepOut);
  const obstacles = (settings.keepOuts ?? []).flatMap(({canBeCrossed, shape}) => (canBeCrossed ? [] : shape));
  const {route, start, seed} = settings;
  const finder = route && findRoutes(field.outline, obstacles, route, start, seed);
  const drafted = draft.units.map((unit) => groundOf(unit, roomIn(unit.shape), circleM));
  const keepsIds = draft.units.some(({kept}) => kept);
  const grounds =
    finder && !keepsIds
      ? finder.order(drafted.map(({middle}) => middle)).map((i) => drafted[i] as UnitGround)
      : drafted;
  const walk = finder && route ? routedWalk(finder, {start, route}) : straightWalk(start);
  const {ids, spare} = idsFor(draft, settings);
  const twice = pickForDuplicates(
    grounds.map(({room}) => room.shape.length > 0),
    settings.duplicates ?? 0,
    seededRandom(seed, `sampling/${strategy} duplicates`),
  );
  const duplicates: DuplicateBag[] = [];

  const units = grounds.map((ground, i): SamplingUnit => {
    const {unit, room, circle} = ground;
    const next = grounds[i + 1]?.middle;
    const take = (random: Random) => {
      const shape = circle?.shape ?? room.shape;
      if (shape.length === 0) return {places: []};
      if (draft.alongLine) return transectCores(shape, settings.cores, angle, random);
      return {places: placeCores(shape, settings.cores, angle, random)};
    };
    const {places, lengthM}: {places: readonly XY[]; lengthM?: number} = unit.kept
      ? {places: unit.kept.cores}
      : take(seededRandom(seed, `sampling/${strategy} ${i + 1}`));
    const id = ids[i] as string;
    let order = places.map((_, k) => k);
    if (unit.kept) walk.follow(places);
    else order = walk.visit(places, next);
    if (twice.has(i)) {
      const again = take(seededRandom(seed, `sampling/${strategy} ${i + 1} again`)).places;
      const cores = numbered(again, walk.visit(again, next));
      duplicates.push({id: spare[duplicates.length] as string, of: id, cores});
    }
    return {
      id,
      label: draft.labelAt?.(i, grounds.length) ?? unit.label,
      shape: unit.shape,
      area: squareMetres(areaM2(unit.shape)),
      cores: numbered(places, order),
      ...(unit.zone === undefined ? {} : {zone: unit.zone}),
      ...(circle ? {centre: circle.centre} : {}),
      edge: metres(room.edgeM),
      ...(places.length > 1 ? {spacing: metres(leastSpacingM(places))} : {}),
      ...(settings.keepOut.length > 0
        ? {keptOut: squareMetres(room.keptOutM2), room: squareMetres(areaM2(room.shape))}
        : {}),
      ...(lengthM === undefined ? {} : {transect: metres(lengthM)}),
    };
  });

  const {blocked, ...walked} = walk.end();
  const plan = {
    strategy,
    units,
    depth: settings.depth,
    pooled: draft.pooled,
    ...(duplicates.length > 0 && {duplicates}),
    ...walked,
    seed,
  };
  const {keepOuts, ...recorded} = settings;
  return {
    ...plan,
    issues: [...draft.issues, ...remarksOn(field, plan, grounds, settings, {circleM, blocked})],
    madeFrom: {
      step: `sampling/${strategy}`,
      inputs: draft.inputs,
      options: {
        ...draft.options,
        ...recorded,
        ...(keepOuts && {keepOuts: keepOuts.map(({name, canBeCrossed}) => ({name, canBeCrossed}))}),
      },
      seed,
    },
  };
}

// --- inside ---------------------------------------------------------------------------------------------------

/** A unit with the room for its cores. */
export interface UnitGround {
  readonly unit: UnitDraft;
  readonly room: CoreRoom;
  readonly circle?: {readonly centre: XY; readonly shape: MultiPolygon};
  /** Where the middle of its cores should be. */
  readonly wanted: XY;
  /** Where it is: the walk to the unit is thought to lead there. */
  readonly middle: XY;
}

function groundOf(unit: UnitDraft, room: CoreRoom, circleM: number | undefined): UnitGround {
  const wanted = unit.point ?? centroid(unit.shape);
  if (room.shape.length === 0) return {unit, room, wanted, middle: wanted};
  if (circleM === undefined || unit.kept) {
    return {unit, room, wanted, middle: nearestPointIn(room.shape, wanted)};
  }
  const circle = pointCircle(room.shape, circleM, wanted);
  return {unit, room, circle, wanted, middle: circle.centre};
}

function numbered(places: readonly XY[], order: readonly number[]): Core[] {
  return order.map((at, k) => ({...(places[at] as XY), number: k + 1}));
}

/** The ids of all units, and as many more as there are duplicate bags. */
function idsFor({strategy, units}: PlanDraft, settings: ResolvedOptions): {ids: string[]; spare: string[]} {
  const {prefix, checkCharacter, duplicates = 0} = settings;
  const count = units.length + duplicates;
  checkCount(count);
  const kept = new Set(units.flatMap((unit) => (unit.kept ? [unit.kept.id] : [])));
  const fresh = sampleIds(prefix, strategy, count + kept.size, checkCharacter).filter((id) => !kept.has(id));
  const ids = units.map((unit) => unit.kept?.id ?? (fresh.shift() as string));
  return {ids, spare: fresh.slice(0, duplicates)};
}
