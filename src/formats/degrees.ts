import {FieldError} from "../errors.ts";
import {type Crs, isWgs84, type Transform, transformBetween, WGS84} from "../geo/crs.ts";
import type {Feature, Geometry} from "../geo/features.ts";
import type {LonLat, LonLatRing} from "../geo/shapes.ts";
import {formatNumber} from "../units/format.ts";

// Features of a file in its own coordinates, brought to longitude and latitude and looked at for plain impossibilities.

/** More than this is no field's map; the limit keeps a broken file from filling the memory. */
const MOST_FEATURES = 500_000;
const MOST_POSITIONS = 5_000_000;
/** Nobody farms beyond; a swapped longitude of the western United States lands there. */
export const MOST_LAT = 85;

/**
 * Features in degrees on WGS 84, whatever the file's coordinates were.
 *
 * @throws {FieldError} `crs/not-degrees`, `crs/swapped`, `crs/not-projected` when the coordinates cannot be what the file says;
 *   `crs/outside` when a projected position has no place on the earth; `file/too-many` over the limits.
 */
export function toDegrees(features: readonly Feature[], crs: Crs, file: string): readonly Feature[] {
  if (features.length > MOST_FEATURES) throw tooMany(file, features.length, "features", MOST_FEATURES);
  const extent = {lon: 0, lat: 0, x: 0, y: 0, positions: 0};
  const convert = isWgs84(crs) ? undefined : transformBetween(crs.definition, WGS84.definition).forward;
  const out = features.map((feature, i) => {
    const project = convert && projector(convert, crs, i, file, extent);
    const geometry = project ? mapPositions(feature.geometry, project) : feature.geometry;
    mapPositions(geometry, (position) => {
      extent.lon = Math.max(extent.lon, Math.abs(position[0]));
      extent.lat = Math.max(extent.lat, Math.abs(position[1]));
      extent.positions++;
      return position;
    });
    if (extent.positions > MOST_POSITIONS) throw tooMany(file, extent.positions, "corners", MOST_POSITIONS);
    return convert ? {...feature, geometry} : feature;
  });
  if (convert && extent.positions > 0) checkProjected(crs, extent.x, extent.y, file);
  checkDegrees(extent.lon, extent.lat, file);
  return out;
}

/** Refuses extents that cannot be degrees. @param mostLon, mostLat - Largest absolute values. */
export function checkDegrees(mostLon: number, mostLat: number, file: string): void {
  if (mostLat > MOST_LAT && mostLat <= 180 && mostLon <= 90) {
    const what = mostLat > 90 ? "is impossible" : "lies at a pole";
    throw new FieldError(
      "crs/swapped",
      `A latitude of ${formatNumber(mostLat, 4)} in ${file} ${what}: longitude and latitude seem to be swapped.`,
      {place: {file}, hint: "Write longitude (x) first, or swap the two columns."},
    );
  }
  if (mostLon > 180 || mostLat > 90) {
    throw new FieldError(
      "crs/not-degrees",
      `Coordinates up to ${formatNumber(Math.max(mostLon, mostLat))} in ${file} do not fit degrees: the file is probably projected.`,
      {place: {file}, hint: 'Name its coordinate system in the job, as in "crs": "EPSG:26916".'},
    );
  }
}

/**
 * Refuses degrees under the name of a projected system, which would put a field on the equator.
 *
 * @param mostX, mostY - Largest absolute coordinates of the file. Metres about a point may well be small.
 */
export function checkProjected(crs: Crs, mostX: number, mostY: number, file: string): void {
  if (crs.units === "degrees" || crs.name.startsWith("local metres") || mostX > 180 || mostY > 90) return;
  throw new FieldError("crs/not-projected", `The coordinates of ${file} are degrees, not ${crs.name}.`, {
    place: {file},
    hint: 'Name the coordinate system in the job as "crs": "EPSG:4326".',
  });
}

function projector(
  convert: Transform,
  crs: Crs,
  index: number,
  file: string,
  extent: {x: number; y: number},
): (position: LonLat) => LonLat {
  return ([x, y]) => {
    extent.x = Math.max(extent.x, Math.abs(x));
    extent.y = Math.max(extent.y, Math.abs(y));
    const [lon, lat] = convert(x, y);
    if (!Number.isFinite(lon) || !Number.isFinite(lat)) {
      throw new FieldError(
        "crs/outside",
        `Feature ${index + 1} of ${file} has a corner at ${x}, ${y}, which is no place in ${crs.name}.`,
        {place: {file}, hint: "Check which coordinate system the file is in."},
      );
    }
    return [lon, lat];
  };
}

function mapPositions(geometry: Geometry, change: (position: LonLat) => LonLat): Geometry {
  const line = (ring: LonLatRing): LonLatRing => ring.map(change);
  switch (geometry.type) {
    case "Point":
      return {type: "Point", coordinates: change(geometry.coordinates)};
    case "MultiPoint":
      return {type: "MultiPoint", coordinates: line(geometry.coordinates)};
    case "LineString":
      return {type: "LineString", coordinates: line(geometry.coordinates)};
    case "MultiLineString":
      return {type: "MultiLineString", coordinates: geometry.coordinates.map(line)};
    case "Polygon":
      return {type: "Polygon", coordinates: geometry.coordinates.map(line)};
    case "MultiPolygon":
      return {type: "MultiPolygon", coordinates: geometry.coordinates.map((polygon) => polygon.map(line))};
  }
}

function tooMany(file: string, count: number, what: string, most: number): FieldError {
  return new FieldError(
    "file/too-many",
    `${file} has ${formatNumber(count)} ${what}; the limit is ${formatNumber(most)}.`,
    {place: {file}, hint: "Cut the file to the field."},
  );
}
