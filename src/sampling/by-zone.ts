import {FieldError} from "../errors.ts";
import {type EqualParts, equalParts, HAIR_M2} from "../geo/equal-parts.ts";
import type {Field} from "../geo/field.ts";
import {areaM2, centroid, contains} from "../geo/measure.ts";
import {mergeSmallFaces} from "../geo/merge-faces.ts";
import {runningAngle} from "../geo/oriented-box.ts";
import {dissolve, partition} from "../geo/partition.ts";
import type {MultiPolygon, XY} from "../geo/shapes.ts";
import {SQUARE_METRES_PER_ACRE} from "../units/factors.ts";
import {type SquareMetres, squareMetres} from "../units/quantity.ts";
import type {Zone, ZoneMap} from "../zones/zone-map.ts";
import {compositesFor} from "./composites-for.ts";
import {makePlan, type UnitDraft} from "./make-plan.ts";
import {checkArea, checkCount, type PlanOptions, resolveOptions} from "./options.ts";
import type {SamplingPlan} from "./plan.ts";
import {walkingOrder} from "./walking-order.ts";

export interface ZoneOptions extends PlanOptions {
  /**
   * Zones larger than this are split into compact parts of equal area, a composite each. Default 40 ac: a Nebraska
   * cost-share programme (North Platte Natural Resources District, 2024) takes 13 cores for up to 40 ac.
   */
  readonly maxArea?: SquareMetres | undefined;
  /** True: every separate piece of a zone is sampled by itself. False (default): one composite over all its pieces. */
  readonly piecesApart?: boolean | undefined;
  /**
   * `area` (default): cores all over the unit, at random in equal parts of it. `line`: along one line through it, quicker
   * to walk and not a random sample.
   */
  readonly placement?: "area" | "line" | undefined;
}

/** North Carolina State University: 15 to 20 cores to a zone. */
export const USUAL_ZONE_CORES = 15;

/**
 * Zone sampling: one composite per zone, its cores all over it, together exactly the field.
 *
 * Numbered in the order of the zones, so that as long as no zone is split bag `…Z03` is zone 3; the parts of a split
 * zone follow each other in walking order.
 *
 * @throws {FieldError} `sampling/other-field` when the zones were not made for this field, `sampling/area`,
 *   `sampling/too-many-units`, and those of the common options.
 */
export function planZones(field: Field, zoneMap: ZoneMap, options: ZoneOptions = {}): SamplingPlan {
  const {maxArea = squareMetres(40 * SQUARE_METRES_PER_ACRE), piecesApart = false, placement = "area"} = options;
  checkArea(maxArea, "The largest area for one composite");
  const settings = resolveOptions(field, options, USUAL_ZONE_CORES);
  checkCover(field, zoneMap);
  const angle = runningAngle(field.outline);
  const grounds = zoneMap.zones.flatMap((zone): Ground[] =>
    (piecesApart ? zone.shape.map((piece) => [piece]) : [zone.shape]).map((shape) => ({
      zone,
      shape,
      count: compositesFor(areaM2(shape), maxArea),
    })),
  );
  checkCount(grounds.reduce((sum, ground) => sum + ground.count, 0));
  const shapes = splitGrounds(grounds, angle);
  const units = zoneMap.zones.flatMap((zone) => {
    const parts = grounds.flatMap((ground, i) => (ground.zone === zone ? (shapes[i] as MultiPolygon[]) : []));
    return inWalkingOrder(zone, parts, settings.start);
  });
  return makePlan(
    field,
    {
      strategy: "zone",
      units,
      pooled: false,
      angle,
      alongLine: placement === "line",
      issues: [],
      inputs: [field.id, zoneMap.madeFrom.step],
      options: {maxArea, piecesApart, ...(placement === "line" && {placement})},
    },
    settings,
  );
}

// --- inside ---------------------------------------------------------------------------------------------------

/** A zone, or one piece of it, and how many composites it needs. */
interface Ground {
  readonly zone: Zone;
  readonly shape: MultiPolygon;
  readonly count: number;
}

function checkCover(field: Field, zoneMap: ZoneMap): void {
  const {lon, lat} = zoneMap.grid.frame;
  const covered = zoneMap.zones.reduce((sum, zone) => sum + areaM2(zone.shape), 0);
  const same = lon === field.frame.lon && lat === field.frame.lat;
  if (!same || Math.abs(covered / areaM2(field.outline) - 1) > 1e-6) {
    throw new FieldError("sampling/other-field", `The zones do not cover ${field.name} exactly.`, {
      hint: "Make the zones again from this boundary.",
    });
  }
}

/**
 * The parts of every ground. All grounds are cut in one go, so that where a cut meets a border the neighbour across it
 * gets the same corner.
 */
function splitGrounds(grounds: readonly Ground[], angle: number): MultiPolygon[][] {
  if (grounds.every((ground) => ground.count === 1)) return grounds.map((ground) => [ground.shape]);
  const divided = grounds.map(({shape, count}) => equalParts(shape, count, angle));
  const division = partition(
    grounds.flatMap((ground) => ground.shape),
    divided.flatMap(({cuts}) => cuts),
  );
  const {leader} = mergeSmallFaces(division, HAIR_M2);
  const firstLabels = grounds.map((_, i) => grounds.slice(0, i).reduce((sum, {count}) => sum + count, 0));
  const labels = leader.map((face) => {
    const p = division.inside[face] as XY;
    const home = grounds.findIndex((ground) => contains(ground.shape, p.x, p.y));
    return (firstLabels[home] as number) + (divided[home] as EqualParts).partAt(p);
  });
  const parts = dissolve(division, labels);
  return grounds.map(({count}, i) =>
    parts
      .filter(({label}) => label >= (firstLabels[i] as number) && label < (firstLabels[i] as number) + count)
      .map(({shape}) => shape),
  );
}

function inWalkingOrder(zone: Zone, parts: readonly MultiPolygon[], start: XY | null): UnitDraft[] {
  const order = walkingOrder(parts.map(centroid), {start: start ?? undefined});
  return order.map((at, i) => ({
    label: order.length === 1 ? zone.label : `${zone.label}, part ${i + 1} of ${order.length}`,
    shape: parts[at] as MultiPolygon,
    zone: zone.id,
  }));
}
