import type {ProductLine} from "../compare/comparison.ts";
import type {ReportModel} from "./report-model.ts";
import type {ReportTable} from "./report-table.ts";
import {certainTotal, intervalText, STRATEGY_NAMES} from "./say-sure.ts";

/** The ledger in two tables: strategies with their money, and products with their intervals. */
export function ledgerTables(model: ReportModel): ReportTable[] {
  return [strategyTable(model), productTable(model), ...classTables(model), ...moneyTables(model)];
}

function strategyTable({comparison, money}: ReportModel): ReportTable {
  return {
    id: "strategies",
    title: "Sampling and money",
    columns: [
      {name: "strategy", head: "strategy"},
      {name: "samples", head: "samples", decimals: 0},
      {name: "cores", head: "cores", decimals: 0},
      {name: "ac_per_sample", head: "ac per sample", decimals: 1},
      {name: "sampling_usd", head: "sampling, $", decimals: 0},
      {name: "product_usd", head: "product, $", decimals: 0},
      {name: "total_usd", head: "total, $", decimals: 0},
      {name: "difference_usd", head: "against baseline, $", decimals: 0, signed: true},
      {name: "all_usd_per_ac_year", head: "all, $/ac a year", decimals: 2},
    ],
    rows: comparison.rows.map((row) => [
      STRATEGY_NAMES[row.strategy],
      row.samples,
      row.cores,
      row.acresPerSample,
      row.samplingCost,
      row.productCost,
      row.totalCost,
      row.differenceCost,
      money?.strategies.find(({strategy}) => strategy === row.strategy)?.perAcrePerYear,
    ]),
  };
}

function productTable({comparison, certainty}: ReportModel): ReportTable {
  return {
    id: "products",
    title: "What would be spread",
    columns: [
      {name: "product", head: "product"},
      {name: "for", head: "for"},
      {name: "strategy", head: "strategy"},
      {name: "mean_lb_per_ac", head: "mean, lb/ac", decimals: 1},
      {name: "least_lb_per_ac", head: "least, lb/ac", decimals: 0},
      {name: "most_lb_per_ac", head: "most, lb/ac", decimals: 0},
      {name: "total_lb", head: "total, lb", decimals: 0},
      {name: "total_low_lb", head: "interval from, lb", decimals: 0},
      {name: "total_high_lb", head: "to, lb", decimals: 0},
      {name: "nutrient_lb", head: "nutrient, lb", decimals: 0},
      {name: "nitrogen_lb", head: "N with it, lb", decimals: 0},
      {name: "rounding_and_limits_lb", head: "rounding and limits, lb", decimals: 0, signed: true},
      {name: "cost_usd", head: "cost, $", decimals: 0},
      {name: "difference_lb", head: "against baseline, lb", decimals: 0, signed: true},
    ],
    rows: productIds(comparison.rows.flatMap((row) => row.products)).flatMap(({analysis, nutrient}) =>
      comparison.rows.flatMap((row) => {
        const line = row.products.find((other) => other.analysis === analysis && other.nutrient === nutrient);
        if (!line) return [];
        const interval = certainTotal(certainty, row.strategy, analysis, nutrient)?.totalLbInterval;
        return [
          [
            analysis,
            nutrient,
            STRATEGY_NAMES[row.strategy],
            line.meanLbPerAcre,
            line.minLbPerAcre,
            line.maxLbPerAcre,
            line.totalLb,
            interval?.low,
            interval?.high,
            line.nutrientLb,
            line.nitrogenLb,
            line.shiftedLb,
            line.cost,
            line.differenceLb,
          ],
        ];
      }),
    ),
    notes: certainty
      ? [`Intervals hold ${Math.round(100 * certainty.level)} % of ${certainty.draws} re-draws of cores and lab.`]
      : [],
  };
}

function classTables({comparison, certainty}: ReportModel): ReportTable[] {
  const rows = (["P2O5", "K2O", "N"] as const).flatMap((nutrient) =>
    comparison.rows.flatMap((row) =>
      (row.acresByClass[nutrient] ?? []).map(({testClass, acres}) => {
        const total = certainty?.strategies
          .find(({strategy}) => strategy === row.strategy)
          ?.products.find((product) => product.nutrient === nutrient);
        const interval = total?.acresByClass?.find((found) => found.testClass === testClass)?.interval;
        return [nutrient, STRATEGY_NAMES[row.strategy], testClass, acres, interval && intervalText(interval, 1)];
      }),
    ),
  );
  if (rows.length === 0) return [];
  return [
    {
      id: "classes",
      title: "Acres by soil-test class",
      columns: [
        {name: "nutrient", head: "test for"},
        {name: "strategy", head: "strategy"},
        {name: "class", head: "class"},
        {name: "ac", head: "ac", decimals: 1},
        {name: "interval_ac", head: "interval, ac"},
      ],
      rows,
      notes: certainty
        ? [
            "The interval is of what the ground itself would give; where it lies off the figure beside it, the luck of cores and lab has put units into outer classes that they are not in.",
          ]
        : [],
    },
  ];
}

function moneyTables({money}: ReportModel): ReportTable[] {
  if (!money) return [];
  return [
    {
      id: "money",
      title: "Where each dollar goes",
      columns: [
        {name: "strategy", head: "strategy"},
        {name: "what", head: "what"},
        {name: "working", head: "how it adds up"},
        {name: "usd", head: "$", decimals: 0},
        {name: "years", head: "serves, years", decimals: 0},
        {name: "usd_per_ac", head: "$/ac", decimals: 2},
        {name: "usd_per_ac_year", head: "$/ac a year", decimals: 2},
      ],
      rows: money.strategies.flatMap(({strategy, lines}) =>
        lines.map((line) => [
          STRATEGY_NAMES[strategy],
          line.what,
          line.working,
          line.dollars,
          line.years,
          line.perAcre,
          line.perAcrePerYear,
        ]),
      ),
      notes: money.notes,
    },
    {
      id: "prices",
      title: "Prices in use",
      columns: [
        {name: "price", head: "price"},
        {name: "value", head: "value", decimals: 2},
        {name: "unit", head: "unit"},
        {name: "year", head: "year"},
        {name: "basis", head: "basis"},
        {name: "source", head: "where from"},
      ],
      rows: Object.entries(money.prices).map(([name, {value, unit, year, basis, source}]) => [
        inWords(name),
        value,
        unit,
        year === undefined ? undefined : String(year),
        basis,
        source,
      ]),
    },
  ];
}

/** Each product once, in order of appearance. */
export function productIds(lines: readonly ProductLine[]): Pick<ProductLine, "analysis" | "nutrient" | "code">[] {
  return lines.filter(
    (line, i) => lines.findIndex((other) => other.analysis === line.analysis && other.nutrient === line.nutrient) === i,
  );
}

/** "labPerSample" to "lab per sample". */
function inWords(name: string): string {
  return name.replace(/([A-Z])/g, (letter) => ` ${letter.toLowerCase()}`);
}
