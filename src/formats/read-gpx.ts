import {FieldError, type Issue} from "../errors.ts";
import type {LonLat} from "../geo/shapes.ts";
import {parseClock} from "./clock-text.ts";
import type {Read} from "./file-set.ts";
import {parseXml, type XmlElement} from "./xml.ts";

/** One place as a GPX file gives it. What the file does not say is an empty text or NaN. */
export interface GpxPlace {
  readonly position: LonLat;
  readonly name: string;
  readonly comment: string;
  /** Seconds since 1970, UTC; NaN without a time. */
  readonly timeS: number;
  /** 1-based among the places of its kind, as a person would count them. */
  readonly number: number;
}

export interface GpxContent {
  readonly waypoints: readonly GpxPlace[];
  readonly routes: readonly (readonly GpxPlace[])[];
  /** One list for each segment: between two segments the receiver was off. */
  readonly tracks: readonly (readonly GpxPlace[])[];
}

/**
 * Waypoints, routes and tracks of a GPX file, versions 1.0 and 1.1, whatever the order of its elements and whatever
 * namespace prefix it uses. Extensions, links and elevations are passed over; nothing outside the file is read.
 *
 * Places whose latitude or longitude cannot be are left out and remarked on.
 *
 * @throws {FieldError} `gpx/not-gpx`, `gpx/empty`, and what `parseXml` refuses.
 */
export function readGpx(bytes: Uint8Array, file: string): Read<GpxContent> {
  const root = parseXml(bytes, file);
  if (local(root) !== "gpx") {
    throw new FieldError("gpx/not-gpx", `${file} is XML, but no GPX: it begins with <${root.name.slice(0, 40)}>.`, {
      place: {file},
      hint: "Export the points or the track as GPX.",
    });
  }
  const lost: string[] = [];
  const placesOf = (elements: readonly XmlElement[], what: string): GpxPlace[] =>
    elements.flatMap((element, i) => {
      const place = placeOf(element, i + 1);
      if (!place) lost.push(`${what} ${i + 1}`);
      return place ? [place] : [];
    });
  const routes = named(root, "rte").map((route) => placesOf(named(route, "rtept"), "route point"));
  const tracks = named(root, "trk")
    .flatMap((track) => named(track, "trkseg"))
    .map((segment) => placesOf(named(segment, "trkpt"), "track point"));
  const value: GpxContent = {waypoints: placesOf(named(root, "wpt"), "waypoint"), routes, tracks};
  const count = value.waypoints.length + [...routes, ...tracks].reduce((sum, points) => sum + points.length, 0);
  if (count === 0) {
    throw new FieldError("gpx/empty", `${file} holds no usable place.`, {
      place: {file},
      hint: "Check that waypoints or a track were saved before the export.",
    });
  }
  return {value, issues: lost.length === 0 ? [] : [impossible(lost, file)]};
}

function placeOf(element: XmlElement, number: number): GpxPlace | undefined {
  const lat = degrees(element.attributes.lat, 90);
  const lon = degrees(element.attributes.lon, 180);
  if (lat === undefined || lon === undefined) return undefined;
  const text = (name: string): string => named(element, name)[0]?.text.trim() ?? "";
  return {
    position: [lon, lat],
    name: text("name"),
    comment: text("cmt") || text("desc"),
    timeS: parseClock(text("time"), "y-m-d"),
    number,
  };
}

function degrees(text: string | undefined, most: number): number | undefined {
  const value = text === undefined || text.trim() === "" ? Number.NaN : Number(text);
  return Math.abs(value) <= most ? value : undefined;
}

function impossible(lost: readonly string[], file: string): Issue {
  return {
    code: "gpx/impossible-place",
    severity: "warning",
    message: `${lost.length} ${lost.length === 1 ? "place" : "places"} of ${file} without a possible latitude and longitude left out: ${lost.slice(0, 5).join(", ")}${lost.length > 5 ? ", …" : ""}.`,
    place: {file},
    hint: "Look at them in a text editor; the receiver may have had no fix.",
  };
}

function named(element: XmlElement, name: string): XmlElement[] {
  return element.children.filter((child) => local(child) === name);
}

/** The name without its namespace prefix. */
const local = ({name}: XmlElement): string => name.slice(name.indexOf(":") + 1);
