import {readGeoJson} from "../formats/read-geojson.ts";
import {readShapefile} from "../formats/read-shapefile.ts";
import {writeGeoJson} from "../formats/write-geojson.ts";
import {writeShapefile} from "../formats/write-shapefile.ts";
import {writeTable} from "../formats/write-table.ts";
import type {Feature} from "../geo/features.ts";
import type {Field} from "../geo/field.ts";
import type {LonLatPolygon} from "../geo/shapes.ts";
import {checkPrescription} from "../prescription/check-prescription.ts";
import type {BuiltPrescription} from "../prescription/prescription.ts";
import type {ReadBackPolygon, Receipt} from "../prescription/receipt.ts";
import type {PlansWithin} from "../sampling/budget.ts";
import type {SamplingPlan} from "../sampling/plan.ts";
import type {ValidationSet} from "../sampling/validation-set.ts";
import {roundHalfAway} from "../units/format.ts";
import type {ZoneMap} from "../zones/zone-map.ts";
import {CAUTION} from "./run-record.ts";
import {
  coreFeatures,
  rateColumn,
  rateFeatures,
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
  const about = {field: field.name, strategy: plan.strategy, seed: plan.seed};
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

/**
 * The prescription files of one strategy, and the proof that they hold what was decided: each is read back by its
 * format's reader and compared polygon by polygon.
 */
export async function rateFiles(
  field: Field,
  prescriptions: readonly BuiltPrescription[],
): Promise<{files: Map<string, Uint8Array>; receipts: Receipt[]}> {
  const [first] = prescriptions;
  if (!first) return {files: new Map(), receipts: []};
  const name = `rates-${first.strategy}`;
  const features = rateFeatures(field.frame, prescriptions);
  const geoJson = writeGeoJson({name, features}, {loamwright: aboutRates(field, prescriptions)});
  const shapefile = writeShapefile({name, features}, [
    {name: "UNIT", type: "C", width: 16},
    {name: "ACRES", type: "N", width: 14, decimals: 6},
    ...prescriptions.map(({product}) => ({name: rateColumn(product.code), type: "N", width: 10, decimals: 2}) as const),
  ]).value;
  const files = new Map([
    [`${name}.geojson`, geoJson],
    [`${name}.zip`, shapefile.zip],
  ]);
  const readBack = [
    {file: `${name}.geojson`, features: (await readGeoJson(geoJson, `${name}.geojson`)).value.features},
    {file: `${name}.zip`, features: readShapefile(files, `${name}.zip`).value.features},
  ];
  const receipts = readBack.flatMap(({file, features: found}) =>
    prescriptions.map((prescription) =>
      checkPrescription(
        prescription,
        found.map((f) => polygonOf(f, rateColumn(prescription.product.code))),
        {
          frame: field.frame,
          file,
          positionToleranceM: ROUNDING_M,
        },
      ),
    ),
  );
  const failed = receipts.find(({passed}) => !passed);
  if (failed) throw new Error(`a file we wrote does not hold what was decided: ${JSON.stringify(failed.checks)}`);
  return {files, receipts};
}

/** Nine decimals of a degree: a corner moves by up to 0.08 mm. */
const ROUNDING_M = 1e-4;

function polygonOf({geometry, properties}: Feature, column: string): ReadBackPolygon {
  const shape: LonLatPolygon[] =
    geometry.type === "Polygon"
      ? [geometry.coordinates]
      : geometry.type === "MultiPolygon"
        ? [...geometry.coordinates]
        : [];
  const id = properties.UNIT;
  const rate = properties[column];
  return {shape, rateLbPerAcre: typeof rate === "number" ? rate : Number.NaN, ...(typeof id === "string" && {id})};
}

/** What the columns are, for whoever opens the GeoJSON without its covering letter. */
function aboutRates(field: Field, prescriptions: readonly BuiltPrescription[]): Record<string, unknown> {
  return {
    field: field.name,
    kind: "prescription",
    products: prescriptions.map(({product, nutrient, totals, limits}) => ({
      column: rateColumn(product.code),
      unit: "lb of product per acre",
      product: product.name,
      analysis: product.analysis,
      nutrient,
      totalLb: Math.round(totals.productLb * 1000) / 1000,
      outsideLbPerAcre: limits.outsideLbPerAcre,
    })),
    caution: CAUTION,
  };
}
