import {type LocalFrame, multiPolygonToLonLat} from "../../geo/frame.ts";
import type {MachineLimits, Prescription, Product} from "../../prescription/prescription.ts";
import {KG_PER_HA_PER_LB_PER_ACRE} from "../../units/factors.ts";
import type {UnitSystem} from "../../units/format.ts";
import {L_PER_HA_PER_GAL_PER_ACRE} from "./data-dictionary.ts";
import {taskGrid} from "./plan-grid.ts";
import type {TaskPlan, TaskProduct} from "./task-data.ts";

/** How a rate map is laid out: as its polygons, or as cells of a size. */
export type TaskMap = "zones" | {readonly type: 1 | 2; readonly cellM: number};

/**
 * One trip over a field with one or more products, from prescriptions that share their polygons.
 *
 * Dry products are set by mass, fluids (those with a weight per gallon) by volume. Before the map takes effect and while
 * the position is lost the rate is the one the prescription sets for that, else the one for outside: a machine that does
 * not know where it is should not spread by the map.
 *
 * @param system - Units the terminal shows: lb/ac and gal/ac, or kg/ha and L/ha.
 * @param map - Default: the polygons themselves.
 */
export function planTask(
  frame: LocalFrame,
  name: string,
  prescriptions: readonly Prescription[],
  system: UnitSystem = "us",
  map: TaskMap = "zones",
): TaskPlan {
  const [first] = prescriptions;
  if (!first) throw new Error("a task needs a prescription");
  const same = prescriptions.every(
    ({polygons}) =>
      polygons.length === first.polygons.length && polygons.every(({unit}, i) => unit === first.polygons[i]?.unit),
  );
  if (!same) throw new Error("prescriptions of one task share their polygons");
  const rates = (of: (limits: MachineLimits) => number | undefined): number[] =>
    prescriptions.map(({product, limits}) => siRate(product, of(limits) ?? limits.outsideLbPerAcre));
  return {
    name,
    products: prescriptions.map(({product}) => taskProduct(product, system)),
    map: map === "zones" ? {zones: zonesOf(frame, prescriptions)} : {grid: gridOf(frame, prescriptions, map)},
    defaultRates: rates(({defaultLbPerAcre}) => defaultLbPerAcre),
    positionLostRates: rates(({lostPositionLbPerAcre}) => lostPositionLbPerAcre),
    outOfFieldRates: rates(({outsideLbPerAcre}) => outsideLbPerAcre),
  };
}

function zonesOf(frame: LocalFrame, prescriptions: readonly Prescription[]) {
  return (prescriptions[0]?.polygons ?? []).map(({unit, polygon}, i) => ({
    name: unit,
    shape: multiPolygonToLonLat(frame, [polygon]),
    rates: prescriptions.map(({product, polygons}) => siRate(product, polygons[i]?.rateLbPerAcre as number)),
  }));
}

function gridOf(frame: LocalFrame, prescriptions: readonly Prescription[], map: Exclude<TaskMap, "zones">) {
  return taskGrid(
    frame,
    (prescriptions[0]?.polygons ?? []).map(({polygon}) => polygon),
    prescriptions.map(({product, polygons}) => polygons.map(({rateLbPerAcre}) => siRate(product, rateLbPerAcre))),
    map.cellM,
    map.type,
  );
}

function taskProduct({name, analysis, lbPerGallon}: Product, system: UnitSystem): TaskProduct {
  const isFluid = lbPerGallon !== undefined;
  const units = isFluid ? {us: "gal/ac", metric: "L/ha"} : {us: "lb/ac", metric: "kg/ha"};
  return {name: `${analysis} ${name}`, kind: isFluid ? "volume" : "mass", unit: units[system]};
}

/** The other way, from the value of the file's own identifier, and how far one step of it can move a rate. */
export function lbPerAcreOf({lbPerGallon}: Pick<Product, "lbPerGallon">, si: number): number {
  return lbPerGallon === undefined ? si / KG_PER_HA_PER_LB_PER_ACRE : (si / L_PER_HA_PER_GAL_PER_ACRE) * lbPerGallon;
}

/** lb/ac of product in kg/ha, or in L/ha for a fluid. */
function siRate({lbPerGallon}: Product, lbPerAcre: number): number {
  return lbPerGallon === undefined
    ? lbPerAcre * KG_PER_HA_PER_LB_PER_ACRE
    : (lbPerAcre / lbPerGallon) * L_PER_HA_PER_GAL_PER_ACRE;
}
