import type {LonLat} from "../geo/shapes.ts";
import {settle, settledText} from "./settle.ts";
import {type XmlElement, xml, xmlBytes, xmlText} from "./xml.ts";

/** One place of a GPX file: a waypoint, or a point of a route or a track. */
export interface GpxPoint {
  readonly position: LonLat;
  /** Short and unique: hand-held receivers show some 8 to 14 characters (from memory). */
  readonly name?: string;
  /** What the crew should read with it, such as the sampling depth. */
  readonly comment?: string;
  readonly description?: string;
  /** As in "soil core". */
  readonly type?: string;
  /** Seconds since 1970, UTC. */
  readonly timeS?: number;
}

/** Points in the order they are walked. */
export interface GpxLine {
  readonly name: string;
  readonly comment?: string;
  readonly points: readonly GpxPoint[];
}

export interface GpxDocument {
  readonly name: string;
  readonly description?: string;
  readonly waypoints: readonly GpxPoint[];
  readonly routes?: readonly GpxLine[];
  /** Lines to be shown, such as a boundary: GPX has no areas. */
  readonly tracks?: readonly GpxLine[];
}

/**
 * A GPX 1.1 document: elements in the order the schema fixes, positions as plain decimals, longitude from -180 up to
 * but not including 180. Elevations are left out; none is known. No clock: the file has no time of its own.
 *
 * Text is written as it is; characters XML cannot hold become the replacement character.
 *
 * Source: GPX 1.1 schema documentation, topografix.com/GPX/1/1.
 */
export function writeGpx({name, description, waypoints, routes = [], tracks = []}: GpxDocument): Uint8Array {
  const root = xml("gpx", {version: "1.1", creator: "loamwright", xmlns: "http://www.topografix.com/GPX/1/1"}, [
    xml("metadata", {}, [xmlText("name", name), ...optional("desc", description)]),
    ...waypoints.map((point) => pointElement("wpt", point)),
    ...routes.map((route) =>
      xml("rte", {}, [...lineHead(route), ...route.points.map((point) => pointElement("rtept", point))]),
    ),
    ...tracks.map((track) =>
      xml("trk", {}, [
        ...lineHead(track),
        xml(
          "trkseg",
          {},
          track.points.map((point) => pointElement("trkpt", point)),
        ),
      ]),
    ),
  ]);
  return xmlBytes(root);
}

/** The schema's order within a point: time, name, cmt, desc, type. */
function pointElement(element: "wpt" | "rtept" | "trkpt", point: GpxPoint): XmlElement {
  const [lon, lat] = point.position;
  if (!(Math.abs(lat) <= 90 && Math.abs(lon) <= 180)) throw new Error(`a position of ${lon}, ${lat} reached a writer`);
  // The schema has no longitude of 180: the same meridian is written from the other side.
  const east = settle(lon) === 180 ? -180 : lon;
  return xml(element, {lat: settledText(lat), lon: settledText(east)}, [
    ...(point.timeS === undefined ? [] : [xmlText("time", clockText(point.timeS))]),
    ...optional("name", point.name),
    ...optional("cmt", point.comment),
    ...optional("desc", point.description),
    ...optional("type", point.type),
  ]);
}

function lineHead({name, comment}: GpxLine): XmlElement[] {
  return [xmlText("name", name), ...optional("cmt", comment)];
}

function optional(name: string, text: string | undefined): XmlElement[] {
  return text === undefined || text.trim() === "" ? [] : [xmlText(name, text)];
}

/** Seconds since 1970 as ISO 8601 in UTC, whole seconds. */
function clockText(seconds: number): string {
  return `${new Date(Math.round(seconds) * 1000).toISOString().slice(0, 19)}Z`;
}
