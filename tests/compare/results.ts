import type {StrategyResult} from "../../src/compare/compare-input.ts";
import {buildPrescription} from "../../src/prescription/build-prescription.ts";
import {type ProductInput, parseProduct} from "../../src/prescription/parse-product.ts";
import type {Recommendation} from "../../src/recommend/recommendation.ts";
import type {SamplingPlan, Strategy} from "../../src/sampling/plan.ts";
import {metres} from "../../src/units/quantity.ts";
import {strips} from "../prescription/fields.ts";

/** A strategy over acre squares: lb of P2O5 per acre for each letter, or for the whole field. */
export function resultOf(
  strategy: Strategy,
  rows: readonly string[],
  rates: Readonly<Record<string, number>>,
  product: Partial<ProductInput> = {},
): StrategyResult {
  const plan: SamplingPlan = {
    strategy,
    units: strips(...rows).map((unit) => ({
      ...unit,
      label: unit.id,
      cores: Array.from({length: 20}, (_, i) => ({number: i + 1, x: 1, y: 1})),
    })),
    depth: metres(0.2032),
    pooled: strategy === "whole-field",
    walk: metres(0),
    seed: 1,
    issues: [],
    madeFrom: {step: "sampling/plan", inputs: [], options: {}},
  };
  const recommendations = Object.entries(rates).map(
    ([unit, rateLbPerAcre]): Recommendation => ({
      unit,
      nutrient: "P2O5",
      rateLbPerAcre,
      test: {value: 25, unit: "ppm", method: "mehlich-3 icp"},
      testClass: "maintenance",
      guide: {id: "g", title: "A guide", edition: "1"},
      working: [],
      issues: [],
    }),
  );
  const prescription = buildPrescription({
    strategy,
    units: plan.units,
    recommendations,
    product: parseProduct({analysis: "11-52-0", ...product}),
    nutrient: "P2O5",
    limits: {stepLbPerAcre: 5, minLbPerAcre: 0, maxLbPerAcre: 600, belowMin: "zero", outsideLbPerAcre: 0},
  });
  return {plan, recommendations, prescriptions: [prescription]};
}
