import type {Issue} from "../errors.ts";
import type {Field} from "../geo/field.ts";
import {areaM2} from "../geo/measure.ts";
import type {MultiPolygon, XY} from "../geo/shapes.ts";
import {seededRandom} from "../stats/random.ts";
import {metres, squareMetres} from "../units/quantity.ts";
import {type CoreRoom, coreRoomsOf} from "./core-room.ts";
import type {ResolvedOptions} from "./options.ts";
import {leastSpacingM, placeCores} from "./place-cores.ts";
import type {SamplingPlan, SamplingUnit, Strategy} from "./plan.ts";
import {remarksOn} from "./plan-remarks.ts";
import {pointCircle} from "./point-circle.ts";
import {sampleIds} from "./sample-id.ts";
import {walkingOrder, walkLengthM} from "./walking-order.ts";

/** Ground for one composite, before it has an id and cores. */
export interface UnitDraft {
  readonly label: string;
  readonly shape: MultiPolygon;
  readonly zone?: number;
}

export interface PlanDraft {
  readonly strategy: Strategy;
  /** In the order they are numbered and walked. */
  readonly units: readonly UnitDraft[];
  readonly pooled: boolean;
  /** Direction the field runs in, radians counter-clockwise from east. */
  readonly angle: number;
  /** All cores within this distance of the middle of their unit; undefined: all over the unit. */
  readonly circleM?: number | undefined;
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
  const roomIn = coreRoomsOf(field.outline, settings.edge, settings.fieldEdge, settings.keepOut);
  const ids = sampleIds(settings.prefix, draft.strategy, draft.units.length);
  const rooms: CoreRoom[] = [];
  let here = settings.start ?? undefined;
  let walkM = 0;

  const units = draft.units.map((unit, i): SamplingUnit => {
    const room = roomIn(unit.shape);
    rooms.push(room);
    const circle =
      draft.circleM !== undefined && room.shape.length > 0
        ? pointCircle(unit.shape, room.shape, draft.circleM)
        : undefined;
    const random = seededRandom(settings.seed, `sampling/${draft.strategy} ${i + 1}`);
    const ground = circle?.shape ?? room.shape;
    const places = ground.length > 0 ? placeCores(ground, settings.cores, draft.angle, random) : [];
    const order = walkingOrder(places, {start: here});
    walkM += walkLengthM(places, order, {start: here});
    here = places[order.at(-1) ?? -1] ?? here;
    return {
      id: ids[i] as string,
      label: unit.label,
      shape: unit.shape,
      area: squareMetres(areaM2(unit.shape)),
      cores: order.map((at, k) => ({...(places[at] as XY), number: k + 1})),
      ...(unit.zone === undefined ? {} : {zone: unit.zone}),
      ...(circle ? {centre: circle.centre} : {}),
      edge: metres(room.edgeM),
      ...(places.length > 1 ? {spacing: metres(leastSpacingM(places))} : {}),
      ...(settings.keepOut.length > 0 ? {keptOut: squareMetres(room.keptOutM2)} : {}),
    };
  });

  return {
    strategy: draft.strategy,
    units,
    depth: settings.depth,
    pooled: draft.pooled,
    walk: metres(walkM),
    seed: settings.seed,
    issues: [...draft.issues, ...remarksOn(units, rooms, settings, draft.circleM)],
    madeFrom: {
      step: `sampling/${draft.strategy}`,
      inputs: draft.inputs,
      options: {...draft.options, ...settings},
      seed: settings.seed,
    },
  };
}
