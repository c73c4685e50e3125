import type {Issue} from "../errors.ts";
import type {Field} from "../geo/field.ts";
import {toLonLat} from "../geo/frame.ts";
import {difference, pointOnSurface} from "../geo/geos.ts";
import {areaM2, polygonAreaM2} from "../geo/measure.ts";
import type {MultiPolygon, Polygon, XY} from "../geo/shapes.ts";
import {formatArea} from "../units/format.ts";

// What is said of a zone map drawn elsewhere, each with its size and a place.

/** Ground without a zone that is narrower than this everywhere goes to the zones beside it, metres. */
export const NARROW_M = 30;
/** Less than this of overlap or gap is a matter of drawing and is not remarked on, square metres. */
export const SLIGHT_M2 = 10;

/** Ground of no zone, each part by itself, the largest first. */
export interface Gaps {
  readonly narrow: readonly Polygon[];
  readonly wide: readonly Polygon[];
}

export function reportOverlaps(
  faces: readonly Polygon[],
  claims: readonly (readonly number[])[],
  names: readonly string[],
  field: Field,
  issues: Issue[],
): void {
  const pairs = new Map<string, {area: number; largest: number; face: Polygon; over: readonly number[]}>();
  claims.forEach((own, i) => {
    if (own.length < 2) return;
    const face = faces[i] as Polygon;
    const area = polygonAreaM2(face);
    const key = own.join(" ");
    const known = pairs.get(key);
    pairs.set(key, {
      area: area + (known?.area ?? 0),
      largest: Math.max(area, known?.largest ?? 0),
      face: known && known.largest >= area ? known.face : face,
      over: own,
    });
  });
  for (const {area, face, over} of pairs.values()) {
    if (area < SLIGHT_M2) continue;
    const [upper, lower] = [names[over.at(-1) as number], names[over.at(-2) as number]];
    issues.push({
      code: "zones/import-overlap",
      severity: "warning",
      message: `Zones "${lower}" and "${upper}" overlap on ${formatArea(area, "us", 2)}; it went to "${upper}", which is drawn over the other.`,
      place: placeAt(field, pointOnSurface(face)),
    });
  }
}

export function reportGaps({narrow, wide}: Gaps, field: Field, issues: Issue[]): void {
  const area = areaM2(narrow);
  const [largest] = narrow;
  if (area >= SLIGHT_M2 && largest) {
    issues.push({
      code: "zones/import-gap",
      severity: area > 0.02 * field.area ? "warning" : "note",
      message: `${formatArea(area, "us", 2)} of the field lie in no zone, in strips under ${NARROW_M} m; they went to the nearest zones.`,
      place: placeAt(field, pointOnSurface(largest)),
    });
  }
  for (const gap of wide) {
    issues.push({
      code: "zones/import-not-drawn",
      severity: "warning",
      message: `${formatArea(polygonAreaM2(gap))} of the field lie in no zone and became a zone of their own, "Not drawn".`,
      place: placeAt(field, pointOnSurface(gap)),
      hint: "Merge it into a neighbour with an edit, or complete the map.",
    });
  }
}

export function reportOutside(
  drawn: readonly {readonly name: string; readonly shape: MultiPolygon}[],
  field: Field,
  issues: Issue[],
): void {
  for (const {name, shape} of drawn) {
    const outside = areaM2(difference(shape, field.outline));
    if (outside < Math.max(SLIGHT_M2, 0.01 * areaM2(shape))) continue;
    issues.push({
      code: "zones/import-outside",
      severity: "note",
      message: `${formatArea(outside, "us", 2)} of zone "${name}" lie outside the field and were cut off.`,
    });
  }
}

export function placeAt(field: Field, point: XY): {lon: number; lat: number} {
  const [lon, lat] = toLonLat(field.frame, point);
  return {lon, lat};
}
