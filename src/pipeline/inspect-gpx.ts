import {bytesOf, type FileSet} from "../formats/file-set.ts";
import {type GpxPlace, readGpx} from "../formats/read-gpx.ts";
import {many} from "../prescription/count-words.ts";
import type {FileFindings} from "./inspect-file.ts";
import {remarkLines} from "./inspect-shapes.ts";

/** Waypoints, routes and tracks, with the names a receiver would show and the box they lie in. */
export function inspectGpx(files: FileSet, name: string): FileFindings {
  const {value, issues} = readGpx(bytesOf(files, name), name);
  const {waypoints, routes, tracks} = value;
  const [onRoutes, onTracks] = [routes.flat(), tracks.flat()];
  const parts = [
    ...(waypoints.length > 0 ? [`${many(waypoints.length, "waypoint")}${namesOf(waypoints)}`] : []),
    ...(routes.length > 0 ? [`${many(routes.length, "route")} of ${many(onRoutes.length, "point")}`] : []),
    ...(tracks.length > 0 ? [`${many(tracks.length, "track")} of ${many(onTracks.length, "point")}`] : []),
  ];
  const box = boxOf([...waypoints, ...onRoutes, ...onTracks]);
  const lines = [
    `a GPX file: ${parts.join(", ")}`,
    `from ${box.south} to ${box.north} degrees north, ${box.west} to ${box.east} east`,
    ...remarkLines(issues),
  ];
  const facts = {waypoints: waypoints.length, routes: routes.length, tracks: tracks.length, box};
  return {kind: "gpx", lines, facts, issues};
}

function namesOf(places: readonly GpxPlace[]): string {
  const named = places.filter(({name}) => name !== "");
  const [first, last] = [named[0]?.name, named.at(-1)?.name];
  if (first === undefined) return ", none with a name";
  return first === last ? ` called ${first}` : `, ${first} to ${last}`;
}

function boxOf(places: readonly GpxPlace[]): {west: number; south: number; east: number; north: number} {
  const box = {west: Infinity, south: Infinity, east: -Infinity, north: -Infinity};
  for (const {
    position: [lon, lat],
  } of places) {
    box.west = Math.min(box.west, lon);
    box.south = Math.min(box.south, lat);
    box.east = Math.max(box.east, lon);
    box.north = Math.max(box.north, lat);
  }
  return box;
}
