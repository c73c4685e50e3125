import type {Issue} from "../../errors.ts";
import type {LonLat, LonLatPolygon, LonLatRing} from "../../geo/shapes.ts";
import {groupRings} from "../group-rings.ts";
import {twiceArea, wind} from "../rings.ts";
import type {XmlElement} from "../xml.ts";
import {childrenOf, decimalOf} from "./attributes.ts";

/**
 * Polygons of `PLN` elements, outer rings counter-clockwise and holes clockwise, every ring closed.
 *
 * Older files put several outer rings into one `PLN`; each then takes the holes that lie in it. A polygon with a ring
 * that cannot be read is left out with a remark, because a shape less one corner is another shape.
 */
export function readPolygons(elements: readonly XmlElement[], whose: string, issues: Issue[]): LonLatPolygon[] {
  return elements.flatMap((element) => {
    const outer: LonLatRing[] = [];
    const holes: LonLatRing[] = [];
    for (const line of childrenOf(element, "LSG")) {
      const into = line.attributes.A === "1" ? outer : line.attributes.A === "2" ? holes : undefined;
      if (!into) continue;
      const ring = readRing(line);
      if (typeof ring === "string") {
        issues.push({
          code: "iso11783/bad-polygon",
          severity: "error",
          message: `A polygon of ${whose} was left out: ${ring}.`,
          hint: "Redraw the shape where it was made and export it again.",
        });
        return [];
      }
      into.push(ring);
    }
    const grouped: readonly LonLatPolygon[] =
      outer.length === 1 ? [[...outer, ...holes]] : groupRings([...outer, ...holes]).polygons;
    const polygons = grouped.filter(([ring]) => outer.includes(ring as LonLatRing));
    const stray = grouped.length - polygons.length;
    if (outer.length === 0 || stray > 0) {
      issues.push({
        code: "iso11783/bad-polygon",
        severity: outer.length === 0 ? "error" : "warning",
        message:
          outer.length === 0
            ? `A polygon of ${whose} was left out: it has no outer ring.`
            : `${stray} hole${stray === 1 ? "" : "s"} of ${whose} outside every outer ring left out.`,
        hint: "Redraw the shape where it was made and export it again.",
      });
    }
    return polygons.map((polygon) => wind(polygon, "counter-clockwise"));
  });
}

/** A closed ring, or what is wrong with it. */
function readRing(line: XmlElement): LonLatRing | string {
  const ring: LonLat[] = [];
  for (const point of childrenOf(line, "PNT")) {
    const lat = decimalOf(point, "C");
    const lon = decimalOf(point, "D");
    if (lat === undefined || lon === undefined) return "a corner has no position";
    if (Math.abs(lat) > 90 || Math.abs(lon) > 180) {
      return Math.abs(lat) <= 180 && Math.abs(lon) <= 90
        ? `latitude ${lat} is impossible; longitude and latitude seem swapped`
        : `${lat} north, ${lon} east are no degrees`;
    }
    ring.push([lon, lat]);
  }
  const first = ring[0];
  const last = ring.at(-1);
  if (first && last && (first[0] !== last[0] || first[1] !== last[1])) ring.push(first);
  if (ring.length >= 4 && twiceArea(ring) === 0) return "a ring has no area";
  if (ring.length < 4) return `a ring has ${Math.max(0, ring.length - 1)} corners`;
  return ring;
}
