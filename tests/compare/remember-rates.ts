import type {CertaintyInput, EvaluatedRates} from "../../src/compare/certainty.ts";

/** How one product's rate follows from the tests that matter for it. */
export interface ProductRates {
  /** Analytes the rate hangs on, as P alone, or K and CEC. */
  readonly analytes: readonly string[];
  /** lb of product per acre after rounding and limits, and the guide's class. Pure; the unit only names it in errors. */
  readonly evaluate: (
    values: Readonly<Record<string, number>>,
    unit: string,
  ) => {readonly lbPerAcre: number; readonly testClass?: string};
}

/**
 * Rates of all products from one set of tests, each worked out once for the same tests: draws are rounded to three figures,
 * so that most of thousands of evaluations have been made before.
 *
 * @param products - In the order of the products of the comparison.
 */
export function rememberRates(products: readonly ProductRates[]): CertaintyInput["evaluate"] {
  const known = products.map(() => new Map<string, ReturnType<ProductRates["evaluate"]>>());
  return (values, unit): EvaluatedRates => {
    const rates = products.map(({analytes, evaluate}, p) => {
      const key = analytes.map((analyte) => values[analyte]).join(" ");
      const found = known[p]?.get(key);
      if (found) return found;
      const made = evaluate(values, unit);
      known[p]?.set(key, made);
      return made;
    });
    return {
      lbPerAcre: rates.map(({lbPerAcre}) => lbPerAcre),
      ...(rates.every(({testClass}) => testClass !== undefined) && {
        classes: rates.map(({testClass = ""}) => testClass),
      }),
    };
  };
}
