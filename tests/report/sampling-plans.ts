import type {MultiPolygon, XY} from "../../src/geo/shapes.ts";
import type {SamplingSheetModel} from "../../src/report/sampling-sheet.ts";
import {planGrid} from "../../src/sampling/by-grid.ts";
import {planZones} from "../../src/sampling/by-zone.ts";
import type {SamplingPlan} from "../../src/sampling/plan.ts";
import {planWholeField} from "../../src/sampling/whole-field.ts";
import {seededRandom} from "../../src/stats/random.ts";
import {SQUARE_METRES_PER_ACRE} from "../../src/units/factors.ts";
import {squareMetres} from "../../src/units/quantity.ts";
import {bandedZones, fieldOf, randomField, rectangleFt} from "../sampling/make-field.ts";

export const acres = (n: number) => squareMetres(n * SQUARE_METRES_PER_ACRE);

export function modelOf(
  outline: MultiPolygon,
  plan: SamplingPlan,
  more: {gate?: XY; keepOut?: MultiPolygon} = {},
): SamplingSheetModel {
  const {area} = fieldOf(outline);
  return {
    farm: "Rook Farm",
    field: "Wren Patch",
    areaM2: area,
    outline,
    plan,
    caution: "Look before you dig.",
    hours: 2,
    ...more,
  };
}

/** A quarter of a section in cells of so many acres. */
export function gridModel(
  cell: number,
  options: object = {},
  more: {gate?: XY; keepOut?: MultiPolygon} = {},
): SamplingSheetModel {
  const outline = rectangleFt(2640, 2640);
  return modelOf(outline, planGrid(fieldOf(outline), {cellArea: acres(cell), seed: 3, prefix: "WP", ...options}), more);
}

/** A field as they come, sampled in one of the three ways. */
export function anyModel(seed: number): SamplingSheetModel {
  const outline = randomField(seededRandom(seed, "sampling sheets"));
  const field = fieldOf(outline);
  const shared = {seed, prefix: "WP", checkCharacter: seed % 2 === 0};
  const plan =
    seed % 3 === 0
      ? planWholeField(field, {...shared, maxArea: acres(10)})
      : seed % 3 === 1
        ? planGrid(field, {...shared, cellArea: acres(2.5), duplicates: 2})
        : planZones(field, bandedZones(field), {...shared, piecesApart: true});
  return modelOf(outline, plan, {gate: outline[0]?.[0]?.[0] as XY});
}
