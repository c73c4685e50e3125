import {FieldError, withPlace} from "../errors.ts";
import type {FileSet} from "../formats/file-set.ts";
import type {Field} from "../geo/field.ts";
import {multiPolygonToPlane} from "../geo/frame.ts";
import {geodesicAreaM2} from "../geo/geodesic.ts";
import {invalidReason, makeValid} from "../geo/geos.ts";
import type {PlannedUnit, RatePlan} from "../prescription/as-applied/applied-log.ts";
import {findOverlaps} from "../prescription/find-overlaps.ts";
import type {Prescription} from "../prescription/prescription.ts";
import {squareMetres} from "../units/quantity.ts";
import type {AppliedFiles} from "./job/as-applied.ts";
import {rateFactor, rateIn} from "./read-as-applied.ts";
import {type Remarks, readVector} from "./read-inputs.ts";

/** Shared ground of less than this is rounding. */
const LEAST_OVERLAP_M2 = 10;

/** A prescription as what was planned: each of its polygons for itself. */
export function planOf({polygons, limits}: Pick<Prescription, "polygons" | "limits">): RatePlan {
  return {
    units: polygons.map(({unit, polygon, area, rateLbPerAcre}) => ({id: unit, shape: [polygon], area, rateLbPerAcre})),
    elsewhereLbPerAcre: limits.outsideLbPerAcre,
  };
}

/**
 * A rate file from anywhere as what was planned.
 *
 * @throws {FieldError} `as-applied/no-planned-rates`, `as-applied/bad-planned-rate`, and what its reader refuses.
 */
export async function readRatePlan(
  field: Field,
  files: FileSet,
  source: Exclude<AppliedFiles["plan"], string | undefined>,
  lbPerGallon: number | undefined,
  remarks: Remarks,
): Promise<RatePlan> {
  const {file, rate, id, elsewhere} = source;
  const {features} = await readVector(files, source, remarks);
  const column = typeof rate === "string" ? rate : rate.column;
  const factor = withPlace({file}, () => rateFactor(rate, lbPerGallon));
  const units = features.flatMap(({geometry, properties}, i): PlannedUnit[] => {
    if (geometry.type !== "Polygon" && geometry.type !== "MultiPolygon") return [];
    const onEarth = geometry.type === "Polygon" ? [geometry.coordinates] : geometry.coordinates;
    const value = rateIn(properties[column]) * factor;
    if (!(value >= 0 && value < Infinity)) {
      throw new FieldError("as-applied/bad-planned-rate", `Record ${i + 1} of ${file} has no rate in "${column}".`, {
        place: {file, row: i + 1, column},
        hint: `Check the column; there are ${Object.keys(properties).slice(0, 20).join(", ")}.`,
      });
    }
    const shape = multiPolygonToPlane(field.frame, onEarth);
    return [
      {
        id: String(properties[id ?? "UNIT"] ?? i + 1),
        shape: invalidReason(shape) ? makeValid(shape) : shape,
        area: squareMetres(geodesicAreaM2(onEarth)),
        rateLbPerAcre: value,
      },
    ];
  });
  if (units.length === 0) {
    throw new FieldError("as-applied/no-planned-rates", `${file} holds no polygons.`, {
      place: {file},
      hint: "Give the rate file that was loaded into the controller.",
    });
  }
  const parts = units.flatMap(({shape}) => shape);
  const doubled = findOverlaps(parts, LEAST_OVERLAP_M2).length;
  if (doubled > 0) {
    remarks.push({
      code: "as-applied/plan-overlaps",
      severity: "warning",
      message: `Polygons of ${file} share ground in ${doubled} places; planned amounts count that ground twice.`,
      place: {file},
      hint: "Compare with a file in which every spot has one rate.",
    });
  }
  return {units, elsewhereLbPerAcre: elsewhere};
}
