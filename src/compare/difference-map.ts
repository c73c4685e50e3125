import {FieldError} from "../errors.ts";
import type {MultiPolygon} from "../geo/shapes.ts";
import type {Prescription, RatePolygon} from "../prescription/prescription.ts";
import type {Strategy} from "../sampling/plan.ts";
import {SQUARE_METRES_PER_ACRE} from "../units/factors.ts";
import {overlay} from "./overlay-rates.ts";

/** Ground with one rate under each of two strategies. */
export interface DifferencePiece {
  readonly shape: MultiPolygon;
  readonly areaM2: number;
  readonly unit: string;
  readonly againstUnit: string;
  readonly lbPerAcre: number;
  readonly againstLbPerAcre: number;
  /** Above zero where the strategy spreads more. */
  readonly differenceLbPerAcre: number;
}

/** Where one strategy spreads more or less of a product than another. */
export interface DifferenceMap {
  readonly strategy: Strategy;
  readonly against: Strategy;
  readonly analysis: string;
  readonly toleranceLbPerAcre: number;
  readonly pieces: readonly DifferencePiece[];
  readonly acresMore: number;
  readonly acresLess: number;
  readonly acresAlike: number;
  /** lb of product on the ground that gets more (or less) by over the tolerance; both positive. */
  readonly lbMore: number;
  readonly lbLess: number;
  /** Over all ground: the difference of the two totals. */
  readonly netLb: number;
}

/** A difference smaller than this is within what a spreader holds; an assumption, no source. */
export const USUAL_TOLERANCE_LB_PER_ACRE = 30;

/**
 * Lays the rates of two strategies over each other, exactly, and sums where they part.
 *
 * Says who spreads more where, not who is right.
 *
 * @param toleranceLbPerAcre - lb of product; differences up to it count as alike. Default 30.
 * @throws {FieldError} `compare/other-product` when the two are not for the same product and nutrient.
 */
export function differenceMap(
  prescription: Prescription,
  against: Prescription,
  toleranceLbPerAcre = USUAL_TOLERANCE_LB_PER_ACRE,
): DifferenceMap {
  const {product, nutrient} = prescription;
  if (product.analysis !== against.product.analysis || nutrient !== against.nutrient) {
    throw new FieldError(
      "compare/other-product",
      `${product.analysis} for ${nutrient} cannot be laid over ${against.product.analysis} for ${against.nutrient}.`,
      {hint: "Compare two strategies with the same product."},
    );
  }
  const others = against.polygons.map(({polygon}) => [polygon]);
  const pieces = overlay(prescription.polygons, others).pieces.map((piece): DifferencePiece => {
    const mine = prescription.polygons[piece.first] as RatePolygon;
    const theirs = against.polygons[piece.second] as RatePolygon;
    return {
      shape: piece.shape,
      areaM2: piece.areaM2,
      unit: mine.unit,
      againstUnit: theirs.unit,
      lbPerAcre: mine.rateLbPerAcre,
      againstLbPerAcre: theirs.rateLbPerAcre,
      differenceLbPerAcre: mine.rateLbPerAcre - theirs.rateLbPerAcre,
    };
  });
  const sums = {acresMore: 0, acresLess: 0, acresAlike: 0, lbMore: 0, lbLess: 0, netLb: 0};
  for (const {areaM2, differenceLbPerAcre: by} of pieces) {
    const acres = areaM2 / SQUARE_METRES_PER_ACRE;
    sums.netLb += acres * by;
    if (by > toleranceLbPerAcre) {
      sums.acresMore += acres;
      sums.lbMore += acres * by;
    } else if (by < -toleranceLbPerAcre) {
      sums.acresLess += acres;
      sums.lbLess -= acres * by;
    } else sums.acresAlike += acres;
  }
  return {
    strategy: prescription.strategy,
    against: against.strategy,
    analysis: product.analysis,
    toleranceLbPerAcre,
    pieces,
    ...sums,
  };
}
