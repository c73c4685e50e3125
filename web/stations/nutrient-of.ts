/** What a product is spread for, where its analysis leaves no choice: of phosphate and potash it holds one alone. */
export function nutrientOf(analysis: string): {readonly nutrient?: "P2O5" | "K2O"} {
  const [, phosphate, potash] = (/^\s*[\d.]+\s*-\s*([\d.]+)\s*-\s*([\d.]+)/.exec(analysis) ?? []).map(Number);
  if (phosphate === undefined || potash === undefined || phosphate > 0 === potash > 0) return {};
  return {nutrient: phosphate > 0 ? "P2O5" : "K2O"};
}
