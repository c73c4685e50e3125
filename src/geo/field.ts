import {FieldError, type Issue} from "../errors.ts";
import {type SquareMetres, squareMetres} from "../units/quantity.ts";
import {frameAround, type LocalFrame, multiPolygonToPlane, toLonLat} from "./frame.ts";
import {geodesicAreaM2} from "./geodesic.ts";
import {invalidReason} from "./geos.ts";
import {boxOf, ringAreaM2} from "./measure.ts";
import type {LonLat, LonLatMultiPolygon, LonLatRing, MultiPolygon} from "./shapes.ts";

/** One field: its boundary on the earth and a flat frame of its own. */
export interface Field {
  readonly id: string;
  readonly name: string;
  readonly boundary: LonLatMultiPolygon;
  readonly frame: LocalFrame;
  /** The boundary in the frame, metres. */
  readonly outline: MultiPolygon;
  /** Geodesic area of the boundary, holes left out: the acres everything ties out to. */
  readonly area: SquareMetres;
}

const MOST_EXTENT_M = 20_000;
const LEAST_AREA_M2 = 100;

/**
 * A field from its boundary.
 *
 * @param boundary - Degrees, WGS 84, longitude first. Winding and unclosed rings are put right silently;
 *   holes and several parts are kept.
 * @throws {FieldError} `boundary/not-a-number`, `boundary/not-degrees`, `boundary/swapped`, `boundary/too-large`,
 *   `boundary/too-small`, `boundary/antimeridian`, `boundary/too-few-corners`, `boundary/crosses-itself`.
 */
export function makeField(
  id: string,
  name: string,
  boundary: LonLatMultiPolygon,
): {field: Field; issues: readonly Issue[]} {
  if (boundary.length === 0 || boundary.every((polygon) => polygon.length === 0)) {
    throw new FieldError("boundary/empty", `The boundary of ${name} holds no polygon.`, {
      hint: "Give a file with at least one polygon.",
    });
  }
  checkPositions(boundary);
  const issues: Issue[] = [];
  const tidy = boundary.map((polygon) => polygon.map((ring) => tidyRing(ring, issues)));
  const frame = frameAround(tidy.flat(2));
  const plane = multiPolygonToPlane(frame, tidy);
  const box = boxOf(plane);
  const extent = Math.max(box.east - box.west, box.north - box.south);
  if (extent > MOST_EXTENT_M) {
    throw new FieldError("boundary/too-large", `The boundary of ${name} is ${(extent / 1000).toFixed(1)} km across.`, {
      hint: "A field may be up to 20 km across; check that the file holds one field and that its coordinates are degrees.",
    });
  }
  const bad = invalidReason(plane);
  if (bad) {
    const [lon, lat] = toLonLat(frame, bad.at);
    throw new FieldError(
      "boundary/crosses-itself",
      `The boundary of ${name} is not a valid polygon: ${bad.reason.toLowerCase()} near ${lon.toFixed(6)}, ${lat.toFixed(6)}.`,
      {place: {lon, lat}, hint: "Redraw the boundary there so that its line does not cross or touch itself."},
    );
  }
  const wound = rewind(tidy, plane);
  const area = geodesicAreaM2(wound);
  if (area < LEAST_AREA_M2) {
    throw new FieldError("boundary/too-small", `The boundary of ${name} holds ${area.toFixed(1)} m².`, {
      hint: "Check the coordinates: a field has at least 100 m².",
    });
  }
  const field: Field = {
    id,
    name,
    boundary: wound,
    frame,
    outline: multiPolygonToPlane(frame, wound),
    area: squareMetres(area),
  };
  return {field, issues};
}

function checkPositions(boundary: LonLatMultiPolygon): void {
  let mostLon = 0;
  let mostLat = 0;
  let west = Infinity;
  let east = -Infinity;
  for (const [lon, lat] of boundary.flat(2)) {
    if (!Number.isFinite(lon) || !Number.isFinite(lat)) {
      throw new FieldError("boundary/not-a-number", "The boundary has a coordinate that is not a number.", {
        hint: "Export the boundary again.",
      });
    }
    mostLon = Math.max(mostLon, Math.abs(lon));
    mostLat = Math.max(mostLat, Math.abs(lat));
    west = Math.min(west, lon);
    east = Math.max(east, lon);
  }
  if (mostLon > 180 || mostLat > 180) {
    throw new FieldError(
      "boundary/not-degrees",
      `Coordinates up to ${Math.round(Math.max(mostLon, mostLat))} do not fit degrees: the file is projected but says longitude and latitude.`,
      {hint: 'Name its coordinate system in the job, as in "crs": "EPSG:26916".'},
    );
  }
  if (mostLat > 90) {
    throw new FieldError(
      "boundary/swapped",
      `A latitude of ${mostLat.toFixed(4)} is impossible: longitude and latitude are swapped.`,
      {hint: "Write longitude first, or export the boundary again."},
    );
  }
  if (mostLat > 85) {
    throw new FieldError("boundary/pole", `A latitude of ${mostLat.toFixed(4)} is too near a pole.`, {
      hint: "Check that longitude and latitude are not swapped.",
    });
  }
  if (east - west > 180) {
    throw new FieldError("boundary/antimeridian", "The boundary crosses the 180 degree meridian.", {
      hint: "Such fields are not supported.",
    });
  }
}

/** Closed, without repeated positions. */
function tidyRing(ring: LonLatRing, issues: Issue[]): LonLatRing {
  const out: LonLat[] = [];
  for (const [lon, lat] of ring) {
    const last = out.at(-1);
    if (!last || last[0] !== lon || last[1] !== lat) out.push([lon, lat]);
  }
  const first = out[0];
  const last = out.at(-1);
  if (first && last && out.length > 1 && (first[0] !== last[0] || first[1] !== last[1])) {
    out.push(first);
    issues.push({
      code: "boundary/ring-closed",
      severity: "note",
      message: "A boundary ring was open; its last corner was joined to its first.",
    });
  }
  if (out.length < 4) {
    throw new FieldError(
      "boundary/too-few-corners",
      `A boundary ring has ${Math.max(0, out.length - 1)} corners; it needs three.`,
      {
        place: first ? {lon: first[0], lat: first[1]} : {},
        hint: "Redraw the boundary.",
      },
    );
  }
  return out;
}

function rewind(shape: LonLatMultiPolygon, plane: MultiPolygon): LonLatMultiPolygon {
  return shape.map((polygon, i) =>
    polygon.map((ring, j) => {
      return ringAreaM2(plane[i]?.[j] ?? []) > 0 === (j === 0) ? ring : [...ring].reverse();
    }),
  );
}
