import type {ProductLine} from "../compare/comparison.ts";
import type {ReportModel} from "./report-model.ts";
import {type ReportTable, tableOf} from "./report-table.ts";
import {certainTotal, intervalText, STRATEGY_NAMES} from "./say-sure.ts";

/** The ledger in two tables: strategies with their money, and products with their intervals. */
export function ledgerTables(model: ReportModel): ReportTable[] {
  return [strategyTable(model), productTable(model), ...classTables(model), ...moneyTables(model)];
}

function strategyTable({comparison, money}: ReportModel): ReportTable {
  return tableOf({
    id: "strategies",
    title: "Sampling and money",
    items: comparison.rows,
    columns: [
      {name: "strategy", head: "strategy", cell: (row) => STRATEGY_NAMES[row.strategy]},
      {name: "samples", head: "samples", decimals: 0, cell: (row) => row.samples},
      {name: "cores", head: "cores", decimals: 0, cell: (row) => row.cores},
      {name: "ac_per_sample", head: "ac per sample", decimals: 1, cell: (row) => row.acresPerSample},
      {name: "sampling_usd", head: "sampling, $", decimals: 0, cell: (row) => row.samplingCost},
      {name: "product_usd", head: "product, $", decimals: 0, cell: (row) => row.productCost},
      {name: "total_usd", head: "total, $", decimals: 0, cell: (row) => row.totalCost},
      {
        name: "difference_usd",
        head: "against baseline, $",
        decimals: 0,
        signed: true,
        cell: (row) => row.differenceCost,
      },
      {
        name: "all_usd_per_ac_year",
        head: "all, $/ac a year",
        decimals: 2,
        cell: (row) => money?.strategies.find(({strategy}) => strategy === row.strategy)?.perAcrePerYear,
      },
    ],
  });
}

function productTable({comparison, certainty}: ReportModel): ReportTable {
  return tableOf({
    id: "products",
    title: "What would be spread",
    items: productIds(comparison.rows.flatMap((row) => row.products)).flatMap(({analysis, nutrient}) =>
      comparison.rows.flatMap(({strategy, products}) => {
        const line = products.find((other) => other.analysis === analysis && other.nutrient === nutrient);
        if (!line) return [];
        const interval = certainTotal(certainty, strategy, analysis, nutrient)?.totalLbInterval;
        return [{...line, strategy, low: interval?.low, high: interval?.high}];
      }),
    ),
    columns: [
      {name: "product", head: "product", cell: (line) => line.analysis},
      {name: "for", head: "for", cell: (line) => line.nutrient},
      {name: "strategy", head: "strategy", cell: (line) => STRATEGY_NAMES[line.strategy]},
      {name: "mean_lb_per_ac", head: "mean, lb/ac", decimals: 1, cell: (line) => line.meanLbPerAcre},
      {name: "least_lb_per_ac", head: "least, lb/ac", decimals: 0, cell: (line) => line.minLbPerAcre},
      {name: "most_lb_per_ac", head: "most, lb/ac", decimals: 0, cell: (line) => line.maxLbPerAcre},
      {name: "total_lb", head: "total, lb", decimals: 0, cell: (line) => line.totalLb},
      {name: "total_low_lb", head: "interval from, lb", decimals: 0, cell: (line) => line.low},
      {name: "total_high_lb", head: "to, lb", decimals: 0, cell: (line) => line.high},
      {name: "nutrient_lb", head: "nutrient, lb", decimals: 0, cell: (line) => line.nutrientLb},
      {name: "nitrogen_lb", head: "N with it, lb", decimals: 0, cell: (line) => line.nitrogenLb},
      {
        name: "rounding_and_limits_lb",
        head: "rounding and limits, lb",
        decimals: 0,
        signed: true,
        cell: (line) => line.shiftedLb,
      },
      {name: "cost_usd", head: "cost, $", decimals: 0, cell: (line) => line.cost},
      {
        name: "difference_lb",
        head: "against baseline, lb",
        decimals: 0,
        signed: true,
        cell: (line) => line.differenceLb,
      },
    ],
    notes: certainty
      ? [`Intervals hold ${Math.round(100 * certainty.level)} % of ${certainty.draws} re-draws of cores and lab.`]
      : [],
  });
}

function classTables({comparison, certainty}: ReportModel): ReportTable[] {
  const items = (["P2O5", "K2O", "N"] as const).flatMap((nutrient) =>
    comparison.rows.flatMap(({strategy, acresByClass}) =>
      (acresByClass[nutrient] ?? []).map(({testClass, acres}) => {
        const total = certainty?.strategies
          .find((other) => other.strategy === strategy)
          ?.products.find((product) => product.nutrient === nutrient);
        const interval = total?.acresByClass?.find((found) => found.testClass === testClass)?.interval;
        return {nutrient, strategy, testClass, acres, interval};
      }),
    ),
  );
  if (items.length === 0) return [];
  return [
    tableOf({
      id: "classes",
      title: "Acres by soil-test class",
      items,
      columns: [
        {name: "nutrient", head: "test for", cell: ({nutrient}) => nutrient},
        {name: "strategy", head: "strategy", cell: ({strategy}) => STRATEGY_NAMES[strategy]},
        {name: "class", head: "class", cell: ({testClass}) => testClass},
        {name: "ac", head: "ac", decimals: 1, cell: ({acres}) => acres},
        {name: "interval_ac", head: "interval, ac", cell: ({interval}) => interval && intervalText(interval, 1)},
      ],
      notes: certainty
        ? [
            "The interval is of what the ground itself would give; where it lies off the figure beside it, the luck of cores and lab has put units into outer classes that they are not in.",
          ]
        : [],
    }),
  ];
}

function moneyTables({money}: ReportModel): ReportTable[] {
  if (!money) return [];
  return [
    tableOf({
      id: "money",
      title: "Where each dollar goes",
      items: money.strategies.flatMap(({strategy, lines}) => lines.map((line) => ({strategy, line}))),
      columns: [
        {name: "strategy", head: "strategy", cell: ({strategy}) => STRATEGY_NAMES[strategy]},
        {name: "what", head: "what", cell: ({line}) => line.what},
        {name: "working", head: "how it adds up", cell: ({line}) => line.working},
        {name: "usd", head: "$", decimals: 0, cell: ({line}) => line.dollars},
        {name: "years", head: "serves, years", decimals: 0, cell: ({line}) => line.years},
        {name: "usd_per_ac", head: "$/ac", decimals: 2, cell: ({line}) => line.perAcre},
        {name: "usd_per_ac_year", head: "$/ac a year", decimals: 2, cell: ({line}) => line.perAcrePerYear},
      ],
      notes: money.notes,
    }),
    tableOf({
      id: "prices",
      title: "Prices in use",
      items: Object.entries(money.prices).map(([name, price]) => ({name, ...price})),
      columns: [
        {name: "price", head: "price", cell: ({name}) => inWords(name)},
        {name: "value", head: "value", decimals: 2, cell: ({value}) => value},
        {name: "unit", head: "unit", cell: ({unit}) => unit},
        {name: "year", head: "year", cell: ({year}) => (year === undefined ? undefined : String(year))},
        {name: "basis", head: "basis", cell: ({basis}) => basis},
        {name: "source", head: "where from", cell: ({source}) => source},
      ],
    }),
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
