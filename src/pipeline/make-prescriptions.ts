import type {Field} from "../geo/field.ts";
import {areaM2} from "../geo/measure.ts";
import {buildPrescription} from "../prescription/build-prescription.ts";
import {parseProduct} from "../prescription/parse-product.ts";
import type {BuiltPrescription, MachineLimits, Product} from "../prescription/prescription.ts";
import type {Recommendation} from "../recommend/recommendation.ts";
import type {SamplingPlan} from "../sampling/plan.ts";
import type {Nutrient} from "../units/nutrient.ts";
import {squareMetres} from "../units/quantity.ts";
import type {Job} from "./job.ts";

export interface PlannedProduct {
  readonly product: Product;
  readonly nutrient: Nutrient;
}

/** The job's products, each with a code of its own for column headings. */
export function productsOf(job: Job): PlannedProduct[] {
  const codes = new Set<string>();
  return job.products.map(({analysis, nutrient, name, price}) => {
    let product = parseProduct({analysis, name, pricePerLb: price});
    for (let n = 2; codes.has(product.code); n++) product = {...product, code: `${product.code.slice(0, 4)}${n}`};
    codes.add(product.code);
    return {product, nutrient};
  });
}

/** What the job's machine can do, lb of product per acre. */
export function limitsOf({machine: {step, min, max, belowMin, outside}}: Job): MachineLimits {
  return {stepLbPerAcre: step, minLbPerAcre: min, maxLbPerAcre: max, belowMin, outsideLbPerAcre: outside};
}

/** Name of the one unit of a pooled plan in the machine's file. */
const WHOLE = "WHOLE";

/** One prescription per product. */
export function prescribePlan(
  job: Job,
  field: Field,
  plan: SamplingPlan,
  recommendations: readonly Recommendation[],
  products: readonly PlannedProduct[],
): BuiltPrescription[] {
  const limits = limitsOf(job);
  // One rate for the field needs no inner borders in the machine's file.
  const units = plan.pooled
    ? [{id: WHOLE, shape: field.outline, area: squareMetres(areaM2(field.outline))}]
    : plan.units;
  return products.map(({product, nutrient}) =>
    buildPrescription({
      strategy: plan.strategy,
      units,
      recommendations,
      product,
      nutrient,
      limits,
      missing: job.rates?.missing ?? "refuse",
    }),
  );
}
