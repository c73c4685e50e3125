import type {Comparison} from "../compare/comparison.ts";
import {roundHalfAway} from "../units/format.ts";

/** Which figures keep how many decimals, by the end of their name. What matches none is written as it is. */
const DECIMALS: readonly {readonly name: RegExp; readonly decimals: number}[] = [
  {name: /LbPerAcre$/, decimals: 4},
  {name: /Lb$/, decimals: 3},
  {name: /cost/i, decimals: 2},
  {name: /^acres/, decimals: 4},
];

/**
 * The ledger as a JSON text: the comparison and what its figures are in. Same comparison, same bytes.
 *
 * Figures are rounded one by one, so sums of rounded figures may differ from rounded sums in the last digit.
 */
export function ledgerJson(comparison: Comparison): string {
  const document = {
    kind: "ledger",
    version: 1,
    units: {rates: "lb of product per acre", amounts: "lb over the field", area: "international acre", money: "USD"},
    rounding: {rule: "half away from zero", rateDecimals: 4, lbDecimals: 3, moneyDecimals: 2, acreDecimals: 4},
    comparison,
  };
  return `${JSON.stringify(document, rounded, 2)}\n`;
}

function rounded(key: string, value: unknown): unknown {
  if (typeof value !== "number") return value;
  const rule = DECIMALS.find(({name}) => name.test(key));
  return rule ? roundHalfAway(value, rule.decimals) : value;
}
