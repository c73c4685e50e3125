import type {Prescription, RatePolygon} from "../prescription/prescription.ts";
import type {Nutrient} from "../units/nutrient.ts";
import type {AboveLimit} from "./over-and-under.ts";

/**
 * What a mix spreads of one nutrient, as if the nutrient itself were the product: to be judged against a need.
 *
 * @param prescriptions - Of one mix: they share their polygons.
 */
export function nutrientOfMix(prescriptions: readonly Prescription[], nutrient: Nutrient): Prescription<Nutrient> {
  const [first] = prescriptions;
  if (!first) throw new Error("a mix of nothing");
  const lbAt = (i: number): number =>
    prescriptions.reduce(
      (sum, {product, polygons}) =>
        sum + ((polygons[i] as RatePolygon).rateLbPerAcre * product.percent[nutrient]) / 100,
      0,
    );
  return {
    ...first,
    nutrient,
    product: {code: nutrient, name: nutrient, analysis: nutrient, percent: {N: 0, P2O5: 0, K2O: 0, [nutrient]: 100}},
    polygons: first.polygons.map((polygon, i) => ({...polygon, rateLbPerAcre: lbAt(i)})),
  };
}

/** The same limits' pounds of several products, added up; ground that gets any of them is spread on. */
export function addAboveLimits(ofEach: readonly (readonly AboveLimit[])[]): AboveLimit[] {
  return (ofEach[0] ?? []).map((row, i) => {
    const same = ofEach.map((rows) => rows[i] as AboveLimit);
    return {
      ...row,
      acresSpread: Math.max(...same.map(({acresSpread}) => acresSpread)),
      productLb: same.reduce((sum, {productLb}) => sum + productLb, 0),
      nutrientLb: same.reduce((sum, {nutrientLb}) => sum + nutrientLb, 0),
    };
  });
}
