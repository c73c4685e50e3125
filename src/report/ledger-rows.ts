import type {Comparison, ComparisonRow, ProductLine} from "../compare/comparison.ts";
import {roundHalfAway} from "../units/format.ts";

/** A table for a spreadsheet: numbers as numbers, null where there is none. */
export interface LedgerRows {
  readonly header: readonly string[];
  readonly rows: readonly (readonly (string | number | null)[])[];
}

interface Column {
  readonly name: string;
  readonly take: (row: ComparisonRow, line: ProductLine | undefined) => string | number | undefined;
  /** Of a number; rates 4, lb 3, money 2, as in the JSON ledger. */
  readonly decimals?: number;
}

/** Names are part of the interface: scripts read them. Renaming or removing one is a breaking change. */
const COLUMNS: readonly Column[] = [
  {name: "strategy", take: (row) => row.strategy},
  {name: "samples", take: (row) => row.samples, decimals: 0},
  {name: "cores", take: (row) => row.cores, decimals: 0},
  {name: "ac_per_sample", take: (row) => row.acresPerSample, decimals: 4},
  {name: "strategy_sampling_usd", take: (row) => row.samplingCost, decimals: 2},
  {name: "strategy_sampling_usd_per_year", take: (row) => row.samplingCostPerYear, decimals: 2},
  {name: "strategy_product_usd", take: (row) => row.productCost, decimals: 2},
  {name: "strategy_total_usd", take: (row) => row.totalCost, decimals: 2},
  {name: "strategy_difference_usd", take: (row) => row.differenceCost, decimals: 2},
  {name: "product", take: (_, line) => line?.code},
  {name: "analysis", take: (_, line) => line?.analysis},
  {name: "nutrient", take: (_, line) => line?.nutrient},
  {name: "mean_lb_per_ac", take: (_, line) => line?.meanLbPerAcre, decimals: 4},
  {name: "min_lb_per_ac", take: (_, line) => line?.minLbPerAcre, decimals: 4},
  {name: "max_lb_per_ac", take: (_, line) => line?.maxLbPerAcre, decimals: 4},
  {name: "total_lb", take: (_, line) => line?.totalLb, decimals: 3},
  {name: "nutrient_lb", take: (_, line) => line?.nutrientLb, decimals: 3},
  {name: "nitrogen_lb", take: (_, line) => line?.nitrogenLb, decimals: 3},
  {name: "rounding_and_limits_lb", take: (_, line) => line?.shiftedLb, decimals: 3},
  {name: "cost_usd", take: (_, line) => line?.cost, decimals: 2},
  {name: "difference_lb", take: (_, line) => line?.differenceLb, decimals: 3},
];

/**
 * The ledger as rows: one for each strategy and product, one for a strategy without products.
 *
 * Columns named `strategy_…` and the sampling columns belong to the strategy and repeat on each of its rows: do not
 * add them up.
 */
export function ledgerCsvRows({field, acres, baseline, rows}: Comparison): LedgerRows {
  const shared = [field, plain(acres, 4), baseline];
  return {
    header: ["field", "field_ac", "baseline", ...COLUMNS.map((column) => column.name)],
    rows: rows.flatMap((row) => {
      const lines = row.products.length > 0 ? row.products : [undefined];
      return lines.map((line) => [
        ...shared,
        ...COLUMNS.map(({take, decimals = 0}) => plain(take(row, line), decimals)),
      ]);
    }),
  };
}

function plain(value: string | number | undefined, decimals: number): string | number | null {
  if (value === undefined) return null;
  return typeof value === "string" ? value : roundHalfAway(value, decimals);
}
