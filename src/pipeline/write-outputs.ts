import {writeGeoJson} from "../formats/write-geojson.ts";
import {writeTable} from "../formats/write-table.ts";
import type {Field} from "../geo/field.ts";
import type {PlansWithin} from "../sampling/budget.ts";
import type {SamplingPlan} from "../sampling/plan.ts";
import {planMark} from "../sampling/plan-mark.ts";
import type {ValidationSet} from "../sampling/validation-set.ts";
import {roundHalfAway} from "../units/format.ts";
import type {ZoneMap} from "../zones/zone-map.ts";
import {
  coreFeatures,
  routeFeatures,
  unitFeatures,
  validationFeatures,
  validationPlaces,
  zoneFeatures,
} from "./to-features.ts";

export function zoneFile(field: Field, zoneMap: ZoneMap): Uint8Array {
  return writeGeoJson(
    {name: "zones", features: zoneFeatures(field.frame, zoneMap)},
    {loamwright: {field: field.name, kind: "management zones", varianceExplained: zoneMap.varianceExplained}},
  );
}

export function planFiles(field: Field, plan: SamplingPlan): Map<string, Uint8Array> {
  const about = {field: field.name, strategy: plan.strategy, seed: plan.seed, plan: planMark(plan)};
  const units = {name: `plan-${plan.strategy}-units`, features: unitFeatures(field.frame, plan)};
  const cores = {name: `plan-${plan.strategy}-cores`, features: coreFeatures(field.frame, plan)};
  const route = {name: `plan-${plan.strategy}-route`, features: routeFeatures(field.frame, plan)};
  return new Map([
    [`${units.name}.geojson`, writeGeoJson(units, {loamwright: {...about, kind: "sampling units"}})],
    [`${cores.name}.geojson`, writeGeoJson(cores, {loamwright: {...about, kind: "cores"}})],
    ...(route.features.length > 0
      ? [[`${route.name}.geojson`, writeGeoJson(route, {loamwright: {...about, kind: "route"}})] as const]
      : []),
  ]);
}

/** Cores of validation bags, and the place each bag speaks for, which a later job takes as places of its hold-outs. */
export function validationFiles(field: Field, validation: ValidationSet): Map<string, Uint8Array> {
  const about = {field: field.name, seed: validation.madeFrom.seed};
  const cores = {name: "plan-validation-cores", features: validationFeatures(field.frame, validation)};
  const places = {name: "plan-validation-places", features: validationPlaces(field.frame, validation)};
  return new Map([
    [`${cores.name}.geojson`, writeGeoJson(cores, {loamwright: {...about, kind: "validation cores"}})],
    [`${places.name}.geojson`, writeGeoJson(places, {loamwright: {...about, kind: "validation places"}})],
  ]);
}

export function budgetFile({tried, best}: PlansWithin, year: number | undefined): Uint8Array {
  const cents = (value: number): number => roundHalfAway(value, 2);
  return writeTable(
    [
      "plan",
      "strategy",
      "bags",
      "cores",
      "hours",
      "error_pct",
      "dollars",
      "dollars_per_ac",
      "dollars_per_ac_year",
    ].concat(["fits", "finest_that_fits", "price_year", "working"]),
    tried.map((plan) => [
      plan.what,
      plan.strategy,
      plan.bags,
      plan.cores,
      roundHalfAway(plan.hours, 2),
      roundHalfAway(plan.expectedErrorPct, 1),
      cents(plan.dollars),
      cents(plan.perAcre),
      cents(plan.perAcrePerYear),
      plan.fits ? "yes" : "no",
      best.includes(plan) ? "yes" : "no",
      year ?? "",
      plan.working,
    ]),
  );
}
