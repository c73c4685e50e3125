import {FieldError, withPlace, withPlaceAsync} from "../errors.ts";
import {type Crs, crsFromEpsg, crsFromProj, crsFromWkt} from "../geo/crs.ts";
import {METRES_PER_FOOT, METRES_PER_US_SURVEY_FOOT} from "../units/factors.ts";

/** GeoTIFF keys by the names the geotiff package gives them. */
export type GeoKeys = Readonly<Record<string, unknown>>;

/** "Its parameters follow in other keys." */
const USER_DEFINED = 32767;

/** Codes of GeoTIFF 1.1 for vertical systems and for units, as far as they say feet or metres. */
const UNIT_CODES: Readonly<Record<number, {unit: string; metres: number}>> = {
  9001: {unit: "m", metres: 1},
  9002: {unit: "ft", metres: METRES_PER_FOOT},
  9003: {unit: "us-ft", metres: METRES_PER_US_SURVEY_FOOT},
};
const VERTICAL_SYSTEMS: Readonly<Record<number, string>> = {
  5703: "m", // NAVD88
  6360: "us-ft", // NAVD88 in US survey feet
  8228: "ft", // NAVD88 in feet
  3855: "m", // EGM2008
  5773: "m", // EGM96
  5714: "m", // mean sea level
  5783: "m", // DHHN92
  7837: "m", // DHHN2016
};

/** Geographic systems that a projection with parameters of its own may stand on, by inverse flattening. */
const FLATTENING: Readonly<Record<number, number>> = {
  4326: 298.257223563,
  4269: 298.257222101,
  4258: 298.257222101,
  6318: 298.257222101,
  4152: 298.257222101,
};

/**
 * The coordinate system of a GeoTIFF: an EPSG code, WKT in a citation, or a projection spelled out in keys.
 *
 * @throws {FieldError} `tif/no-crs`, and what `crsFromEpsg`, `crsFromWkt` and `crsFromProj` refuse.
 */
export async function crsOfKeys(keys: GeoKeys, name: string): Promise<Crs> {
  const number = (key: string): number => Number(keys[key] ?? 0);
  const projected = number("ProjectedCSTypeGeoKey");
  const geographic = number("GeographicTypeGeoKey");
  const model = number("GTModelTypeGeoKey");
  const place = {file: name};
  if (isCode(projected)) return withPlaceAsync(place, () => crsFromEpsg(projected));
  if (projected === 0 && model === 2 && isCode(geographic)) {
    return withPlaceAsync(place, () => crsFromEpsg(geographic));
  }
  const wkt = ["PCSCitationGeoKey", "GTCitationGeoKey", "GeogCitationGeoKey"]
    .map((key) => /(?:PROJCS|GEOGCS)\[[\s\S]*\]/.exec(String(keys[key] ?? ""))?.[0])
    .find((found) => found !== undefined);
  if (wkt !== undefined) return withPlace(place, () => crsFromWkt(wkt));
  const definition = spelledOut(keys);
  if (definition !== undefined) {
    const title = String(keys.GTCitationGeoKey ?? "").trim() || "its own projection";
    return withPlace(place, () => crsFromProj(title, definition));
  }
  throw new FieldError("tif/no-crs", `${name} does not say which coordinate system it is in.`, {
    place,
    hint: 'Name it in the job, as in "crs": "EPSG:26916", or export the file again.',
  });
}

/** Unit of the values of an elevation file, where its keys say so. */
export function verticalUnit(keys: GeoKeys): string | undefined {
  return UNIT_CODES[Number(keys.VerticalUnitsGeoKey)]?.unit ?? VERTICAL_SYSTEMS[Number(keys.VerticalCSTypeGeoKey)];
}

const isCode = (code: number): boolean => code > 0 && code !== USER_DEFINED;

/** A proj string for the projections of GeoTIFF 1.1 that are used for fields; undefined for others. */
function spelledOut(keys: GeoKeys): string | undefined {
  const value = (...names: string[]): number =>
    Number(names.map((name) => keys[name]).find((v) => v !== undefined) ?? 0);
  const unit = UNIT_CODES[value("ProjLinearUnitsGeoKey")];
  const flattening = value("GeogInvFlatteningGeoKey") || FLATTENING[value("GeographicTypeGeoKey")];
  const isGeocentric =
    Math.abs(value("GeogSemiMajorAxisGeoKey") - 6378137) < 1 || value("GeographicTypeGeoKey") in FLATTENING;
  const shape = projectionOf(value);
  if (!unit || flattening === undefined || !isGeocentric || shape === undefined) return undefined;
  const easting = value("ProjFalseEastingGeoKey", "ProjFalseOriginEastingGeoKey") * unit.metres;
  const northing = value("ProjFalseNorthingGeoKey", "ProjFalseOriginNorthingGeoKey") * unit.metres;
  return `${shape} +x_0=${easting} +y_0=${northing} +a=6378137 +rf=${flattening} +units=${unit.unit} +no_defs`;
}

function projectionOf(value: (...names: string[]) => number): string | undefined {
  const lat = value("ProjNatOriginLatGeoKey", "ProjFalseOriginLatGeoKey", "ProjCenterLatGeoKey");
  const lon = value("ProjNatOriginLongGeoKey", "ProjFalseOriginLongGeoKey", "ProjCenterLongGeoKey");
  const scale = value("ProjScaleAtNatOriginGeoKey") || 1;
  const parallels = `+lat_1=${value("ProjStdParallel1GeoKey")} +lat_2=${value("ProjStdParallel2GeoKey")}`;
  switch (value("ProjCoordTransGeoKey")) {
    case 1:
      return `+proj=tmerc +lat_0=${lat} +lon_0=${lon} +k=${scale}`;
    case 8:
      return `+proj=lcc ${parallels} +lat_0=${lat} +lon_0=${lon}`;
    case 9:
      return `+proj=lcc +lat_1=${lat} +lat_0=${lat} +lon_0=${lon} +k_0=${scale}`;
    case 11:
      return `+proj=aea ${parallels} +lat_0=${lat} +lon_0=${lon}`;
    default:
      return undefined;
  }
}
