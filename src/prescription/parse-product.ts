import {FieldError} from "../errors.ts";
import type {Nutrient} from "../units/nutrient.ts";
import type {Product} from "./prescription.ts";

/**
 * What the trade calls an analysis, and what a fluid weighs.
 *
 * Source: fertilizer property tables of US extension services. 10-34-0 is 11.65 lb/gal there at room temperature; a
 * Nebraska lesson prints 11.4, so the weight is a setting. Potassium sulfate from memory.
 */
const TRADE: Readonly<Record<string, {code: string; name: string; lbPerGallon?: number}>> = {
  "11-52-0": {code: "MAP", name: "monoammonium phosphate"},
  "18-46-0": {code: "DAP", name: "diammonium phosphate"},
  "0-46-0": {code: "TSP", name: "triple superphosphate"},
  "10-34-0": {code: "APP", name: "ammonium polyphosphate", lbPerGallon: 11.65},
  "0-0-60": {code: "MOP", name: "muriate of potash"},
  "0-0-62": {code: "MOP", name: "muriate of potash"},
  "0-0-50": {code: "SOP", name: "potassium sulfate"},
  "46-0-0": {code: "UREA", name: "urea"},
  "21-0-0-24": {code: "AMS", name: "ammonium sulfate"},
};

/** How a user names a product: the analysis, and what else they care to say. */
export interface ProductInput {
  readonly analysis: string;
  readonly name?: string | undefined;
  /** For column headings: up to 5 letters and digits. */
  readonly code?: string | undefined;
  /** Dollars per lb of product. */
  readonly pricePerLb?: number | undefined;
  /** For a fluid. */
  readonly lbPerGallon?: number | undefined;
}

/**
 * A product from its guaranteed analysis, `"11-52-0"` or `"21-0-0-24S"`: percent N, P2O5, K2O and, where given, S.
 *
 * Common analyses get their trade name and code; others are named by the analysis and coded by its digits.
 *
 * @throws {FieldError} `product/not-an-analysis`, `product/over-100-percent`, `product/no-nutrient`,
 *   `product/bad-code`, `product/bad-price`, `product/bad-weight`.
 */
export function parseProduct(input: ProductInput): Product {
  const numbers = parseAnalysis(input.analysis);
  const [N = 0, P2O5 = 0, K2O = 0, sulfurPct] = numbers;
  const trade = TRADE[numbers.join("-")];
  const lbPerGallon = input.lbPerGallon ?? trade?.lbPerGallon;
  if (input.pricePerLb !== undefined && !(input.pricePerLb >= 0 && input.pricePerLb < Infinity)) {
    throw new FieldError(
      "product/bad-price",
      `A price of ${input.pricePerLb} $/lb for ${input.analysis} is no price.`,
      {
        hint: 'Give a positive price with its unit, as in "720 $/ton".',
      },
    );
  }
  if (lbPerGallon !== undefined && !(lbPerGallon > 0 && lbPerGallon < Infinity)) {
    throw new FieldError("product/bad-weight", `${input.analysis} cannot weigh ${lbPerGallon} lb a gallon.`, {
      hint: "Give the weight on the product sheet; most fluids are 9 to 12 lb a gallon.",
    });
  }
  return {
    code: checkedCode(input.code ?? trade?.code ?? numbers.join("").replace(/\./g, "").slice(0, 5), input.analysis),
    name: input.name?.trim() || (trade?.name ?? input.analysis.trim()),
    analysis: input.analysis.trim(),
    percent: {N, P2O5, K2O},
    ...(sulfurPct !== undefined && {sulfurPct}),
    ...(input.pricePerLb !== undefined && {pricePerLb: input.pricePerLb}),
    ...(lbPerGallon !== undefined && {lbPerGallon}),
  };
}

/** lb of product that hold a given lb of a nutrient; both per acre or both per field. */
export function productLbFor(product: Product, nutrient: Nutrient, nutrientLb: number): number {
  return nutrientLb / (product.percent[nutrient] / 100);
}

function parseAnalysis(text: string): number[] {
  const number = String.raw`(\d{1,3}(?:\.\d{1,2})?)`;
  const match = new RegExp(String.raw`^\s*${number}-${number}-${number}(?:-${number}S?)?\s*$`).exec(text);
  if (!match) {
    throw new FieldError("product/not-an-analysis", `"${text}" is not a fertilizer analysis.`, {
      hint: 'Write percent N, P2O5 and K2O as on the label, as in "11-52-0" (a fourth number is sulfur).',
    });
  }
  const numbers = match.slice(1).flatMap((part) => (part === undefined ? [] : [Number(part)]));
  const sum = numbers.reduce((a, b) => a + b, 0);
  if (sum > 100) {
    throw new FieldError("product/over-100-percent", `The analysis "${text}" adds up to ${sum} percent.`, {
      hint: "Check it against the label: percent by weight cannot pass 100.",
    });
  }
  if (sum === 0) {
    throw new FieldError("product/no-nutrient", `The analysis "${text}" holds no nutrient.`, {
      hint: 'Write percent N, P2O5 and K2O as on the label, as in "11-52-0".',
    });
  }
  return numbers;
}

function checkedCode(code: string, analysis: string): string {
  if (!/^[A-Za-z0-9]{1,5}$/.test(code)) {
    throw new FieldError("product/bad-code", `"${code}" cannot stand for ${analysis} in a column heading.`, {
      hint: 'Use one to five letters and digits, as in "MAP".',
    });
  }
  return code.toUpperCase();
}
