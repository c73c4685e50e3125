import {FieldError, type Issue} from "../errors.ts";
import {METRES_PER_FOOT, METRES_PER_US_SURVEY_FOOT} from "../units/factors.ts";
import type {Crs} from "./crs.ts";

/** What was understood of a definition, whichever notation it came in. */
export interface Projection {
  /** What a person calls the system. */
  readonly name: string;
  /** Projection method, any spelling. */
  readonly method: string;
  /** Datum as the definition names it, empty when it does not. */
  readonly datum: string;
  /** Shift to WGS 84 where one is known: three or seven numbers. */
  readonly shift: readonly number[] | undefined;
  /** Ellipsoid: longer half axis in metres and inverse flattening (0 for a sphere). */
  readonly semiMajorM: number;
  readonly inverseFlattening: number;
  /** Length of the linear unit, metres; ignored for longitude and latitude. */
  readonly metresPerUnit: number;
  readonly axis: string;
  /** Prime meridian, radians east of Greenwich. */
  readonly fromGreenwich: number;
}

const REMEDY = "Export the file again in longitude and latitude on WGS 84 (EPSG:4326).";

// Methods that were compared with PROJ 9.1 in the middle of the area of use of every EPSG code that passes here; the
// others are wrong, missing or unproven in the library underneath and could misplace a field without a word.
const METHODS = new Set([
  "longlat",
  "utm",
  "tmerc",
  "transversemercator",
  "gausskruger",
  "lcc",
  "lambertconformalconic",
  "lambertconformalconic1sp",
  "lambertconformalconic2sp",
  "lambertconicconformal1sp",
  "lambertconicconformal2sp",
  "aea",
  "albers",
  "albersconicequalarea",
  "albersequalarea",
  "merc",
  "omerc",
  "somerc",
  "sterea",
  "mercatorauxiliarysphere",
]);

// Datums that share the modern ellipsoids but lie 6 to 340 m off (same comparison).
const SHIFTED_DATUMS =
  /ggrs|greek|vietnam|vn-2000|israel|isr93|ig05|kuwait|kudams|ngn|national.geodetic.network|cyprus|ouvea/i;

/**
 * Lets a coordinate system through only when it is known how its positions lie to WGS 84.
 *
 * Datums on the GRS 80 and WGS 84 ellipsoids (NAD83 and its realizations, ETRS89, GDA, SIRGAS 2000) are used as WGS 84
 * with a remark: they differ by one to two metres. Older datums pass only with a known shift, and a warning.
 *
 * @throws {FieldError} `crs/unsupported-projection`, `crs/unknown-datum`, `crs/unknown-unit`, `crs/axis`,
 *   `crs/prime-meridian`.
 */
export function guard(found: Projection): Pick<Crs, "units" | "remark"> & {readonly isWgs84: boolean} {
  const method = found.method.toLowerCase().replace(/[^a-z0-9]/g, "");
  if (!METHODS.has(method)) {
    throw new FieldError(
      "crs/unsupported-projection",
      `${found.name} uses the projection "${found.method}", which is not supported.`,
      {hint: REMEDY},
    );
  }
  if (/[sw]/.test(found.axis)) {
    throw new FieldError("crs/axis", `${found.name} counts its coordinates to the south or west.`, {hint: REMEDY});
  }
  if (found.fromGreenwich !== 0) {
    throw new FieldError("crs/prime-meridian", `${found.name} counts longitude from a meridian other than Greenwich.`, {
      hint: REMEDY,
    });
  }
  const remark = datumRemark(found);
  const units = method === "longlat" ? "degrees" : linearUnit(found);
  const isWgs84 = method === "longlat" && isModern(found);
  return {units, isWgs84, ...(remark ? {remark} : {})};
}

/** What to tell the user where the datum is not WGS 84 itself. */
function datumRemark(found: Projection): Issue | undefined {
  const datum = found.datum === "" ? "The datum" : found.datum;
  if (isModern(found)) {
    if (Math.abs(found.inverseFlattening - 298.257223563) < 1e-8) return undefined;
    return {
      code: "crs/datum-near-wgs84",
      severity: "note",
      message: `${datum} of ${found.name} is used as WGS 84; the two differ by at most one to two metres.`,
    };
  }
  // Web Mercator is defined on a sphere, with latitudes of WGS 84.
  if (found.inverseFlattening === 0 && found.semiMajorM === 6378137) return undefined;
  // The North American Datum of 1927 needs a grid of shifts; one shift for the continent is 10 to 30 m off.
  const isNad27 = Math.abs(found.semiMajorM - 6378206.4) < 0.01;
  if (!found.shift || isNad27) {
    throw new FieldError(
      "crs/unknown-datum",
      `${found.name} stands on a datum (${found.datum || "unnamed"}) whose shift to WGS 84 is not known well enough.`,
      {hint: REMEDY},
    );
  }
  return {
    code: "crs/datum-shifted",
    severity: "warning",
    message: `${datum} of ${found.name} was brought to WGS 84 by one shift for a whole country, which can be metres to tens of metres off.`,
    hint: "Compare a corner of the field with a picture or a measured point, or export the file again on WGS 84.",
  };
}

/** Geocentric datums: within two metres of WGS 84. */
function isModern({semiMajorM, inverseFlattening, shift, datum, name}: Projection): boolean {
  if (semiMajorM !== 6378137 || Math.abs(inverseFlattening - 298.2572) > 2e-4) return false;
  if (shift && Math.hypot(...shift.slice(0, 3)) > 3) return false;
  return !SHIFTED_DATUMS.test(`${datum} ${name}`);
}

function linearUnit(found: Projection): Crs["units"] {
  const near = (metres: number): boolean => Math.abs(found.metresPerUnit / metres - 1) < 1e-7;
  if (near(1)) return "metres";
  if (near(METRES_PER_FOOT)) return "feet";
  if (near(METRES_PER_US_SURVEY_FOOT)) return "us-feet";
  throw new FieldError(
    "crs/unknown-unit",
    `${found.name} measures in a unit of ${found.metresPerUnit} m, which is not supported.`,
    {hint: REMEDY},
  );
}
