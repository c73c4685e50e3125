import type {Feature, Properties} from "../geo/features.ts";
import {type LocalFrame, multiPolygonToLonLat, toLonLat} from "../geo/frame.ts";
import {distanceM} from "../geo/measure.ts";
import type {MultiPolygon} from "../geo/shapes.ts";
import type {BuiltPrescription} from "../prescription/prescription.ts";
import type {Core, SamplingPlan} from "../sampling/plan.ts";
import type {ValidationSet} from "../sampling/validation-set.ts";
import {METRES_PER_FOOT, METRES_PER_INCH, SQUARE_METRES_PER_ACRE} from "../units/factors.ts";
import {roundHalfAway} from "../units/format.ts";
import type {ZoneMap} from "../zones/zone-map.ts";

// Results in the field's frame as features on the earth, with the columns their files have.

export function zoneFeatures(frame: LocalFrame, zoneMap: ZoneMap): Feature[] {
  return zoneMap.zones.map(({id, label, area, shape, means, classShares}) => ({
    id: String(id),
    geometry: {type: "MultiPolygon", coordinates: multiPolygonToLonLat(frame, shape)},
    properties: {
      zone: id,
      label,
      acres: acresOf(area),
      ...Object.fromEntries(Object.entries(means).map(([layer, mean]) => [layer, significant(mean)])),
      ...Object.fromEntries(Object.entries(classShares ?? {}).map(([layer, shares]) => [layer, inWords(shares)])),
    },
  }));
}

export function unitFeatures(frame: LocalFrame, plan: SamplingPlan): Feature[] {
  return plan.units.map(({id, label, area, shape, cores, zone, keptOut, room, transect}) => ({
    id,
    geometry: {type: "MultiPolygon", coordinates: multiPolygonToLonLat(frame, shape)},
    properties: {
      sample: id,
      label,
      ...(zone === undefined ? {} : {zone}),
      acres: acresOf(area),
      cores: cores.length,
      depth_in: roundHalfAway(plan.depth / METRES_PER_INCH, 2),
      ...(keptOut === undefined ? {} : {kept_out_ac: acresOf(keptOut)}),
      ...(room === undefined ? {} : {room_ac: acresOf(room)}),
      ...(transect === undefined ? {} : {line_ft: roundHalfAway(transect / METRES_PER_FOOT, 0)}),
    },
  }));
}

/** The cores of all bags; those of a second bag of a unit say which unit. */
export function coreFeatures(frame: LocalFrame, plan: SamplingPlan): Feature[] {
  const depth = roundHalfAway(plan.depth / METRES_PER_INCH, 2);
  return [
    ...plan.units.flatMap((unit) => coresOf(frame, unit, depth, {})),
    ...(plan.duplicates ?? []).flatMap((bag) => coresOf(frame, bag, depth, {duplicate_of: bag.of})),
  ];
}

export function validationFeatures(frame: LocalFrame, {bags, depth}: ValidationSet): Feature[] {
  return bags.flatMap((bag) => coresOf(frame, bag, roundHalfAway(depth / METRES_PER_INCH, 2), {}));
}

/** Where validation bags were taken, a point each: the places of hold-outs. */
export function validationPlaces(frame: LocalFrame, {bags, depth}: ValidationSet): Feature[] {
  return bags.map(({id, centre, cores}) => ({
    id,
    geometry: {type: "Point" as const, coordinates: toLonLat(frame, centre)},
    properties: {sample: id, cores: cores.length, depth_in: roundHalfAway(depth / METRES_PER_INCH, 2)},
  }));
}

/** The crew's way, where one was worked out. */
export function routeFeatures(frame: LocalFrame, {route}: SamplingPlan): Feature[] {
  if (!route || route.line.length < 2) return [];
  return [
    {
      geometry: {type: "LineString", coordinates: route.line.map((p) => toLonLat(frame, p))},
      properties: {length_ft: roundHalfAway(route.length / METRES_PER_FOOT, 0), returns: route.returns},
    },
  ];
}

function coresOf(
  frame: LocalFrame,
  {id, cores}: {readonly id: string; readonly cores: readonly Core[]},
  depth: number,
  more: Properties,
): Feature[] {
  return cores.map(({number, x, y, movedFrom}) => ({
    id: `${id}-${number}`,
    geometry: {type: "Point" as const, coordinates: toLonLat(frame, {x, y})},
    properties: {
      sample: id,
      core: number,
      depth_in: depth,
      ...more,
      ...(movedFrom && {moved_ft: roundHalfAway(distanceM({x, y}, movedFrom) / METRES_PER_FOOT, 1)}),
    },
  }));
}

/** Heading of the rate column of a product: unit in the name, ten characters at most, as shapefiles need. */
export const rateColumn = (code: string): string => `${code}_LBAC`;

/** One single-part polygon per feature with a rate column for each product; all products share the polygons. */
export function rateFeatures(frame: LocalFrame, prescriptions: readonly BuiltPrescription[]): Feature[] {
  const [first] = prescriptions;
  if (!first) return [];
  return first.polygons.map(({unit, polygon, area}, i) => ({
    id: unit,
    geometry: {type: "Polygon", coordinates: polygonToLonLat(frame, [polygon])},
    properties: {
      UNIT: unit,
      ACRES: roundHalfAway(area / SQUARE_METRES_PER_ACRE, 6),
      ...Object.fromEntries(
        prescriptions.map(({product, polygons}) => [rateColumn(product.code), polygons[i]?.rateLbPerAcre ?? 0]),
      ),
    },
  }));
}

function polygonToLonLat(frame: LocalFrame, shape: MultiPolygon) {
  return multiPolygonToLonLat(frame, shape)[0] ?? [];
}

const acresOf = (areaM2: number): number => roundHalfAway(areaM2 / SQUARE_METRES_PER_ACRE, 4);

/** Six significant figures: more than any layer knows. */
const significant = (value: number): number | null => (Number.isFinite(value) ? Number(value.toPrecision(6)) : null);

/** "Tilma 62 %, Naff 38 %", the largest first. */
function inWords(shares: Readonly<Record<string, number>>): string {
  return Object.entries(shares)
    .filter(([, share]) => share >= 0.005)
    .sort(([, a], [, b]) => b - a)
    .map(([name, share]) => `${name} ${Math.round(share * 100)} %`)
    .join(", ");
}
