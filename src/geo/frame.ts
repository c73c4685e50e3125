import {type TransformPair, transformBetween, WGS84} from "./crs.ts";
import type {Box, LonLat, LonLatMultiPolygon, MultiPolygon, XY} from "./shapes.ts";

/**
 * A flat, north-up, metric frame of one field: transverse Mercator on WGS 84, scale 1 at its centre.
 *
 * Areas are true to 1e-6 within about 5 km of the centre (scale error x² / 2R²), which is why fields over
 * 20 km are refused.
 */
export interface LocalFrame {
  readonly kind: "transverse-mercator";
  /** Centre, degrees, WGS 84; x = y = 0 there. */
  readonly lon: number;
  readonly lat: number;
}

/** Frame centred on the middle of a box of positions, its centre rounded to 1e-6 degree so that it prints exactly. */
export function frameAround(positions: Iterable<LonLat>): LocalFrame {
  let west = Infinity;
  let south = Infinity;
  let east = -Infinity;
  let north = -Infinity;
  for (const [lon, lat] of positions) {
    west = Math.min(west, lon);
    east = Math.max(east, lon);
    south = Math.min(south, lat);
    north = Math.max(north, lat);
  }
  return frameAt((west + east) / 2, (south + north) / 2);
}

export function frameAt(lon: number, lat: number): LocalFrame {
  const round = (degrees: number): number => Math.round(degrees * 1e6) / 1e6;
  return {kind: "transverse-mercator", lon: round(lon), lat: round(lat)};
}

export function toPlane(frame: LocalFrame, position: LonLat): XY {
  const [x, y] = converter(frame).forward(position[0], position[1]);
  return {x, y};
}

export function toLonLat(frame: LocalFrame, point: XY): LonLat {
  return converter(frame).inverse(point.x, point.y);
}

export function multiPolygonToPlane(frame: LocalFrame, shape: LonLatMultiPolygon): MultiPolygon {
  const {forward} = converter(frame);
  const point = ([lon, lat]: LonLat): XY => {
    const [x, y] = forward(lon, lat);
    return {x, y};
  };
  return shape.map((polygon) => polygon.map((ring) => ring.map(point)));
}

export function multiPolygonToLonLat(frame: LocalFrame, shape: MultiPolygon): LonLatMultiPolygon {
  const {inverse} = converter(frame);
  return shape.map((polygon) => polygon.map((ring) => ring.map(({x, y}): LonLat => inverse(x, y))));
}

/** Many positions at once: interleaved lon, lat in; x and y out. NaN positions come out NaN. */
export function columnsToPlane(
  frame: LocalFrame,
  lon: Float64Array,
  lat: Float64Array,
): {x: Float64Array; y: Float64Array} {
  const {forward} = converter(frame);
  const x = new Float64Array(lon.length).fill(Number.NaN);
  const y = new Float64Array(lon.length).fill(Number.NaN);
  for (let i = 0; i < lon.length; i++) {
    const east = lon[i] as number;
    const north = lat[i] as number;
    if (!Number.isFinite(east) || !Number.isFinite(north)) continue;
    [x[i], y[i]] = forward(east, north);
  }
  return {x, y};
}

/** The frame as a proj string, for readers that must turn other coordinate systems straight into it. */
export function frameProjString(frame: LocalFrame): string {
  return `+proj=tmerc +lat_0=${frame.lat} +lon_0=${frame.lon} +k=1 +x_0=0 +y_0=0 +datum=WGS84 +units=m +no_defs`;
}

function converter(frame: LocalFrame): TransformPair {
  return transformBetween(WGS84.definition, frameProjString(frame));
}

/** The box in longitude and latitude that holds a box of the frame widened by a margin in metres. */
export function boxInLonLat(frame: LocalFrame, {west, south, east, north}: Box, marginM = 0): Box {
  const corners = [west - marginM, east + marginM].flatMap((x) =>
    [south - marginM, north + marginM].map((y) => toLonLat(frame, {x, y})),
  );
  const lons = corners.map(([lon]) => lon);
  const lats = corners.map(([, lat]) => lat);
  return {west: Math.min(...lons), south: Math.min(...lats), east: Math.max(...lons), north: Math.max(...lats)};
}
