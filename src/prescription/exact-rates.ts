import type {Nutrient} from "../units/nutrient.ts";
import {blend} from "./blend.ts";
import {productLbFor} from "./parse-product.ts";
import type {Product} from "./prescription.ts";

/** How a mix is chosen. */
export interface Mixing {
  /** What a pound of nitrogen that rides along saves elsewhere, dollars. Default 0. */
  readonly nitrogenPerLb?: number;
}

/**
 * lb of each product an acre that hold what each one's nutrient needs: each by itself, or as the cheapest mix of all.
 *
 * @param needs - lb of nutrient an acre, for each product that of its own nutrient.
 * @param mixing - Absent: each product by itself.
 * @throws {FieldError} those of `blend`.
 */
export function exactRates(
  products: readonly {readonly product: Product; readonly nutrient: Nutrient}[],
  needs: readonly number[],
  mixing: Mixing | undefined,
  unit: string,
): number[] {
  if (!mixing) return products.map(({product, nutrient}, p) => productLbFor(product, nutrient, needs[p] as number));
  const want: Partial<Record<Nutrient, number>> = {};
  products.forEach(({nutrient}, p) => {
    want[nutrient] = needs[p] as number;
  });
  const list = products.map(({product}) => product);
  const {parts} = blend({unit, want, products: list, ...mixing});
  return list.map((product) => parts.find((part) => part.product === product)?.lbPerAcre ?? 0);
}
