import {FieldError} from "../../errors.ts";
import {geodesicAreaM2} from "../../geo/geodesic.ts";
import type {LonLatMultiPolygon, LonLatPolygon, LonLatRing} from "../../geo/shapes.ts";
import {wind} from "../rings.ts";
import {settlePolygon} from "../settle.ts";
import {type XmlElement, xml} from "../xml.ts";
import {coordinateText} from "./number-text.ts";

/** What a polygon is for, as the format counts them. */
export const POLYGON_TYPE = {boundary: 1, treatmentZone: 2} as const;

const EXTERIOR = 1;
const INTERIOR = 2;
const OTHER_POINT = 2;
const MOST_AREA_M2 = 2 ** 32 - 2;

/**
 * One polygon with its holes and its area on the ellipsoid, in the coordinates every file of a hand-over has. Rings
 * repeat their first point, because readers differ in whether they close a ring themselves.
 *
 * @throws {FieldError} `iso11783/bad-polygon` for open or too short rings and for positions that are not degrees, and
 *   what `settlePolygon` refuses.
 */
export function polygonElement(polygon: LonLatPolygon, type: 1 | 2, whose: string): XmlElement {
  if (polygon.length === 0) throw badPolygon(whose, "has no outline");
  for (const ring of polygon) checkRing(ring, whose);
  const rings = wind(settlePolygon(polygon, whose), "counter-clockwise").map((ring, i) => {
    const points = ring.map(([lon, lat]) =>
      xml("PNT", {A: OTHER_POINT, C: coordinateText(lat), D: coordinateText(lon)}),
    );
    return xml("LSG", {A: i === 0 ? EXTERIOR : INTERIOR}, points);
  });
  return xml("PLN", {A: type, C: areaText([polygon])}, rings);
}

/** Whole square metres. */
export function areaText(shape: LonLatMultiPolygon): string {
  return String(Math.min(MOST_AREA_M2, Math.max(0, Math.round(geodesicAreaM2(shape)))));
}

function checkRing(ring: LonLatRing, whose: string): void {
  for (const [lon, lat] of ring) {
    if (!(Math.abs(lon) <= 180 && Math.abs(lat) <= 90)) throw badPolygon(whose, `has a corner at ${lon}, ${lat}`);
  }
  const first = ring[0];
  const last = ring.at(-1);
  if (!first || !last || ring.length < 4) throw badPolygon(whose, `has a ring of ${ring.length} positions`);
  if (first[0] !== last[0] || first[1] !== last[1]) throw badPolygon(whose, "has a ring that is not closed");
}

function badPolygon(whose: string, what: string): FieldError {
  return new FieldError("iso11783/bad-polygon", `${whose} ${what}.`, {
    hint: "Rings are closed, have three corners or more, and hold longitude and latitude in degrees.",
  });
}
