import type {Field} from "../../geo/field.ts";
import {multiPolygonToPlane, toPlane} from "../../geo/frame.ts";
import {invalidReason, makeValid} from "../../geo/geos.ts";
import {insideTest} from "../../geo/inside.ts";
import {areaM2, contains} from "../../geo/measure.ts";
import type {LonLat, LonLatPolygon, MultiPolygon, Polygon, XY} from "../../geo/shapes.ts";
import {formatNumber} from "../../units/format.ts";
import {cutZones, zonesOfFaces} from "./cut-zones.ts";
import {sidesOfLine} from "./sides-of-line.ts";
import type {ZoneEdit, ZonePlace} from "./zone-edit.ts";

/** A zone while it is being edited; its number is its position from 1. */
export interface DrawnZone {
  readonly shape: MultiPolygon;
  /** Given by a person; undefined is "Zone 3" by its number. */
  readonly name?: string | undefined;
}

/** Thrown when an edit has nothing to work on any more; the map stays as it was. */
export class NoLongerApplies extends Error {
  override readonly name = "NoLongerApplies";
  readonly at: LonLat;
  readonly hint: string;

  constructor(message: string, at: LonLat, hint: string) {
    super(message);
    this.at = at;
    this.hint = hint;
  }
}

/** Divides a zone into so many kinds of ground: shapes that together are the zone. */
export type Divide = (shape: MultiPolygon, parts: number) => readonly MultiPolygon[];

/**
 * Zones after one edit.
 *
 * @throws {NoLongerApplies}
 */
export function applyEdit(field: Field, zones: readonly DrawnZone[], edit: ZoneEdit, divide: Divide): DrawnZone[] {
  switch (edit.edit) {
    case "merge":
      return merge(field, zones, edit.zones);
    case "split":
      return "line" in edit
        ? splitByLine(field, zones, edit.zone, edit.line, edit.name)
        : splitByKind(field, zones, edit.zone, edit.parts, divide);
    case "assign":
      return assign(field, zones, edit.polygon, find(field, zones, edit.to));
    case "rename": {
      const index = find(field, zones, edit.zone);
      return zones.map((zone, i) => (i === index ? {...zone, name: edit.name} : zone));
    }
    case "pin":
      return assign(field, [...zones, {shape: [], name: edit.name}], edit.polygon, zones.length);
  }
}

/** Index of the zone that an edit means. */
function find(field: Field, zones: readonly DrawnZone[], {at, zone}: ZonePlace): number {
  const {x, y} = toPlane(field.frame, at);
  const index = zones.findIndex(({shape}) => contains(shape, x, y));
  if (index < 0) {
    throw new NoLongerApplies(
      "its place is not in the field",
      at,
      "Take it out, or move its place into the zone that is meant.",
    );
  }
  if (zone !== undefined && zone !== index + 1) {
    throw new NoLongerApplies(
      `it means zone ${zone}, and at its place there is zone ${index + 1} now`,
      at,
      `Look at the new map; then write ${index + 1}, move the place, or take the edit out.`,
    );
  }
  return index;
}

function merge(field: Field, zones: readonly DrawnZone[], places: readonly ZonePlace[]): DrawnZone[] {
  const indexes = [...new Set(places.map((place) => find(field, zones, place)))];
  const [into] = indexes as [number];
  if (indexes.length < 2) {
    throw new NoLongerApplies(
      "its places lie in one zone already",
      (places[0] as ZonePlace).at,
      "Take it out, or move a place into the other zone.",
    );
  }
  const {division, owner} = cutZones(
    field.outline,
    zones.map(({shape}) => shape),
    [],
  );
  const joined = owner.map((index) => (indexes.includes(index) ? into : index));
  return withShapes(zones, zonesOfFaces(division, joined, zones.length));
}

function splitByLine(
  field: Field,
  zones: readonly DrawnZone[],
  place: ZonePlace,
  line: readonly LonLat[],
  name: string | undefined,
): DrawnZone[] {
  const index = find(field, zones, place);
  const drawn = line.map((position) => toPlane(field.frame, position));
  const {division, owner} = cutZones(
    field.outline,
    zones.map(({shape}) => shape),
    [drawn],
  );
  const away = sidesOfLine(division, owner, index, drawn);
  const cut = owner.map((own, face) => (away[face] ? zones.length : own));
  const shapes = zonesOfFaces(division, cut, zones.length + 1);
  if (shapes.at(-1)?.length === 0 || shapes[index]?.length === 0) {
    throw new NoLongerApplies(
      `its line does not cut zone ${index + 1} in two`,
      place.at,
      "Draw it from outside the zone through it and out again.",
    );
  }
  return withShapes([...zones, {shape: [], name}], shapes);
}

function splitByKind(
  field: Field,
  zones: readonly DrawnZone[],
  place: ZonePlace,
  parts: number,
  divide: Divide,
): DrawnZone[] {
  const index = find(field, zones, place);
  const kinds = divide((zones[index] as DrawnZone).shape, parts);
  if (kinds.length < 2) {
    throw new NoLongerApplies(
      `zone ${index + 1} has no ${formatNumber(parts)} kinds of ground that are large enough`,
      place.at,
      "Split it by a line, or allow smaller pieces.",
    );
  }
  const lines = kinds.flatMap((shape) => shape.flat());
  const {division, owner} = cutZones(
    field.outline,
    zones.map(({shape}) => shape),
    lines,
    0,
  );
  const tests = kinds.map(insideTest);
  const cut = owner.map((own, face) => {
    if (own !== index) return own;
    const {x, y} = division.inside[face] as XY;
    const kind = tests.findIndex((inside) => inside(x, y));
    return kind <= 0 ? index : zones.length + kind - 1;
  });
  const added = kinds.slice(1).map((): DrawnZone => ({shape: []}));
  return withShapes([...zones, ...added], zonesOfFaces(division, cut, zones.length + added.length));
}

function assign(field: Field, zones: readonly DrawnZone[], polygon: LonLatPolygon, to: number): DrawnZone[] {
  const drawn = planePolygon(field, polygon);
  const {division, owner} = cutZones(
    field.outline,
    zones.map(({shape}) => shape),
    drawn.flat(),
  );
  const inside = insideTest(drawn);
  const moved = owner.map((own, face) => {
    const {x, y} = division.inside[face] as XY;
    return inside(x, y) ? to : own;
  });
  const shapes = zonesOfFaces(division, moved, zones.length);
  const gained = areaM2(shapes[to] ?? []) - areaM2((zones[to] as DrawnZone).shape);
  if (!(gained > 1)) {
    throw new NoLongerApplies(
      moved.some((own, face) => own !== owner[face])
        ? "its polygon is too small to be a piece of a zone"
        : "its polygon moves no ground of the field",
      (polygon[0] as readonly LonLat[])[0] as LonLat,
      "Take it out, or draw the polygon anew.",
    );
  }
  return withShapes(zones, shapes);
}

/** A polygon as drawn, put right where its line crosses itself. */
function planePolygon(field: Field, polygon: LonLatPolygon): MultiPolygon {
  const closed = polygon.map((ring) => {
    const [first, last] = [ring[0] as LonLat, ring.at(-1) as LonLat];
    return first[0] === last[0] && first[1] === last[1] ? ring : [...ring, first];
  });
  const [shape] = multiPolygonToPlane(field.frame, [closed]) as [Polygon];
  return invalidReason([shape]) ? makeValid([shape]) : [shape];
}

/** Zones with new shapes; one that lost all its ground goes. */
function withShapes(zones: readonly DrawnZone[], shapes: readonly MultiPolygon[]): DrawnZone[] {
  return zones.map((zone, i) => ({...zone, shape: shapes[i] as MultiPolygon})).filter(({shape}) => shape.length > 0);
}
