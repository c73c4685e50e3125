import type {ApplicatorSheetModel, SheetProduct} from "../../src/report/applicator-sheet.ts";
import {SQUARE_METRES_PER_ACRE} from "../../src/units/factors.ts";
import {ringOf} from "../sampling/make-field.ts";

/** A hundred acres, metres on a side. */
const SIDE = 10 * Math.sqrt(SQUARE_METRES_PER_ACRE);
const H = SIDE / 2;

/** Quarters of the field at 0, 100, 200 and 100 lb/ac. */
function product(number: number): SheetProduct {
  const quarters = [
    [0, 0],
    [H, 0],
    [0, H],
    [H, H],
  ] as const;
  return {
    analysis: `0-46-${number}`,
    name: "triple superphosphate",
    column: `TSP${number}_LBAC`,
    polygons: quarters.map(([x, y], i) => ({
      polygon: [ringOf([x, y], [x + H, y], [x + H, y + H], [x, y + H])],
      area: H * H,
      rateLbPerAcre: [0, 100, 200, 100][i] as number,
    })),
    totalLb: 10_000,
    outsideLbPerAcre: 25,
    loads: "3 loads: 2 of 4,000 lb, the last of 2,000 lb",
    place: [-86.4, 40.55],
  };
}

/** A sheet of a square field with so many products. */
export function sheetModel(products: number): ApplicatorSheetModel {
  return {
    farm: "Home Farm",
    field: "North 40",
    areaM2: SIDE * SIDE,
    outline: [[ringOf([0, 0], [SIDE, 0], [SIDE, SIDE], [0, SIDE])]],
    basis: "rates by zone sampling",
    products: Array.from({length: products}, (_, i) => product(i + 1)),
    setbacks: [],
    cautions: ["Check against local nutrient-management code and setback rules."],
    files: [{name: "rates-zone.zip", what: "controllers that read shapefiles", sha256: "ab".repeat(32)}],
  };
}
