import type {MultiPolygon, Polygon, Position} from "geojson";
import type {ZonePlace} from "../../api/types.ts";
import {labelPoint} from "../../map/label-point.ts";
import {result} from "../../state/field.ts";
import {shapesOf} from "../../state/shapes.ts";

/** A zone of the map on show. */
export interface ZoneShape {
  readonly zone: number;
  readonly label: string;
  readonly acres: number;
  readonly geometry: MultiPolygon;
}

/** The zones on show, in their order; undefined until they have come. */
export function zoneShapes(): readonly ZoneShape[] | undefined {
  const made = result.value;
  if (!made?.shapes.includes("zones")) return undefined;
  const found = shapesOf(made.id, "zones");
  return found?.features.map(({geometry, properties}) => ({
    zone: Number(properties?.zone),
    label: String(properties?.label ?? `Zone ${properties?.zone}`),
    acres: Number(properties?.acres ?? 0),
    geometry: severalOf(geometry as Polygon | MultiPolygon),
  }));
}

/** How an edit says which zone it means: by its number on this map and by a point well inside it. */
export function placeOf({zone, geometry}: ZoneShape): ZonePlace {
  const points = geometry.coordinates.map((rings) => labelPoint(rings)).filter((point) => point !== undefined);
  const roomiest = points.reduce((best, point) => (point.room > best.room ? point : best));
  return {at: centimetre([roomiest.lon, roomiest.lat]), zone};
}

/** Numbers of the zones that have a border in common with one. Zones share their borders' corners exactly. */
export function neighboursOf(zones: readonly ZoneShape[], one: number): readonly number[] {
  const corners = (zone: ZoneShape) => new Set(zone.geometry.coordinates.flat(2).map(([lon, lat]) => `${lon} ${lat}`));
  const own = zones.find(({zone}) => zone === one);
  if (!own) return [];
  const mine = corners(own);
  return zones
    .filter((zone) => zone.zone !== one && [...corners(zone)].filter((corner) => mine.has(corner)).length > 1)
    .map(({zone}) => zone);
}

/** Degrees to a centimetre on the ground: what is drawn by hand is no finer. */
export const centimetre = ([lon = 0, lat = 0]: Position): [number, number] => [
  Math.round(lon * 1e7) / 1e7,
  Math.round(lat * 1e7) / 1e7,
];

/** A drawn polygon as an edit takes it. */
export const polygonOf = ({coordinates}: Pick<Polygon, "coordinates">): [number, number][][] =>
  coordinates.map((ring) => ring.map(centimetre));

const severalOf = (geometry: Polygon | MultiPolygon): MultiPolygon =>
  geometry.type === "Polygon" ? {type: "MultiPolygon", coordinates: [geometry.coordinates]} : geometry;
