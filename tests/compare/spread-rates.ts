import type {CertainProduct, CertaintyInput} from "../../src/compare/certainty.ts";
import {machineRate} from "../../src/prescription/machine-rate.ts";
import {parseProduct, productLbFor} from "../../src/prescription/parse-product.ts";
import type {MachineLimits, Product} from "../../src/prescription/prescription.ts";
import {triState2020} from "../../src/recommend/guides/tri-state-2020.ts";
import {recommend} from "../../src/recommend/recommend.ts";
import {METRES_PER_INCH} from "../../src/units/factors.ts";
import {type ProductRates, rememberRates} from "./remember-rates.ts";

export const MAP = parseProduct({analysis: "11-52-0", pricePerLb: 0.38});
export const POTASH = parseProduct({analysis: "0-0-60", pricePerLb: 0.22});

export const PRODUCTS: readonly CertainProduct[] = [
  {code: MAP.code, analysis: MAP.analysis, nutrient: "P2O5", pricePerLb: 0.38},
  {code: POTASH.code, analysis: POTASH.analysis, nutrient: "K2O", pricePerLb: 0.22},
];

export const LIMITS: MachineLimits = {
  stepLbPerAcre: 5,
  minLbPerAcre: 50,
  maxLbPerAcre: 450,
  belowMin: "zero",
  outsideLbPerAcre: 0,
};

export const CROPS = [
  {crop: "corn", yieldGoal: 195},
  {crop: "soybean", yieldGoal: 58},
];

/** Corn and soybean by Tri-State 2020, MAP and potash, a usual spreader: the real rates, one unit at a time. */
export function spreadRates(crops = CROPS): CertaintyInput["evaluate"] {
  const depthM = 8 * METRES_PER_INCH;
  const rateOf = (product: Product, nutrient: "P2O5" | "K2O", analytes: readonly string[]): ProductRates => ({
    analytes,
    evaluate: ({P = 20, K = 120, CEC = 12}, unit) => {
      const [found] = recommend(triState2020, {
        unit,
        tests: [
          {analyte: "P", value: P, unit: "mg/kg", method: "mehlich-3 icp", depthM, from: "lab"},
          {analyte: "K", value: K, unit: "mg/kg", method: "mehlich-3 icp", depthM, from: "lab"},
          {analyte: "CEC", value: CEC, unit: "meq/100 g", method: "sum of cations", depthM, from: "lab"},
        ],
        crops,
        options: {nutrients: [nutrient]},
      });
      if (!found) throw new Error("one nutrient was asked for");
      const exact = productLbFor(product, nutrient, found.rateLbPerAcre);
      return {lbPerAcre: machineRate(exact, LIMITS).rateLbPerAcre, testClass: found.testClass};
    },
  });
  return rememberRates([rateOf(MAP, "P2O5", ["P"]), rateOf(POTASH, "K2O", ["K", "CEC"])]);
}
