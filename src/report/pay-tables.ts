import type {ReportModel} from "./report-model.ts";
import {type ReportTable, tableOf} from "./report-table.ts";
import {intervalText, STRATEGY_NAMES} from "./say-sure.ts";

/** Expected loss over prices, and what finer sampling has to bring. */
export function payTables({pay, breakEvens = []}: ReportModel): ReportTable[] {
  const tables: ReportTable[] = [];
  if (pay) {
    tables.push(
      tableOf({
        id: "pay",
        title: "Expected loss over a range of prices",
        items: pay.prices.flatMap(({grainFactor, fertilizerFactor, strategies, least}) =>
          strategies.map((part) => ({grainFactor, fertilizerFactor, least, part})),
        ),
        columns: [
          {name: "grain_factor", head: "grain price ×", decimals: 2, cell: ({grainFactor}) => grainFactor},
          {
            name: "fertilizer_factor",
            head: "fertilizer price ×",
            decimals: 2,
            cell: ({fertilizerFactor}) => fertilizerFactor,
          },
          {name: "strategy", head: "strategy", cell: ({part}) => STRATEGY_NAMES[part.strategy]},
          {
            name: "yield_usd_per_ac_year",
            head: "yield not reached, $/ac a year",
            decimals: 2,
            cell: ({part}) => part.yieldLoss,
          },
          {name: "excess_usd_per_ac_year", head: "not needed, $/ac a year", decimals: 2, cell: ({part}) => part.excess},
          {
            name: "sampling_usd_per_ac_year",
            head: "sampling, $/ac a year",
            decimals: 2,
            cell: ({part}) => part.sampling,
          },
          {
            name: "passes_usd_per_ac_year",
            head: "passes, $/ac a year",
            decimals: 2,
            cell: ({part}) => part.application,
          },
          {name: "total_usd_per_ac_year", head: "total, $/ac a year", decimals: 2, cell: ({part}) => part.total},
          {
            name: "against_usd_per_ac_year",
            head: "against baseline",
            decimals: 2,
            signed: true,
            cell: ({part}) => part.againstBaseline,
          },
          {name: "interval", head: "interval", cell: ({part}) => part.interval && intervalText(part.interval, 2)},
          {
            name: "reading",
            head: "reading",
            cell: ({least, part}) =>
              [part.strategy === least ? "least" : "", part.verdict ?? ""].filter((text) => text !== "").join("; "),
          },
        ],
        notes: [
          "A loss is not the bill: it leaves out the product that ground needs or keeps and adds yield not reached; the bill for product, sampling and spreading is in the table of where each dollar goes.",
          ...pay.notes,
          ...pay.curves.map(({title, basis, source}) => `Curve: ${title} (${basis}: ${source}).`),
        ],
      }),
    );
  }
  if (breakEvens.length > 0) {
    tables.push(
      tableOf({
        id: "break-even",
        title: "What finer sampling has to bring",
        items: breakEvens,
        columns: [
          {name: "strategy", head: "strategy", cell: (row) => STRATEGY_NAMES[row.strategy]},
          {name: "against", head: "against", cell: (row) => STRATEGY_NAMES[row.against]},
          {
            name: "extra_usd_per_ac_year",
            head: "costs more, $/ac a year",
            decimals: 2,
            signed: true,
            cell: (row) => row.extraPerAcrePerYear,
          },
          {
            name: "needed_yield_per_ac_year",
            head: "yield to pay it, a year",
            cell: (row) => row.neededYield && `${row.neededYield.perAcrePerYear.toFixed(2)} ${row.neededYield.crop}`,
          },
          {
            name: "needed_lb_per_ac_year",
            head: "or product to save, lb/ac a year",
            cell: (row) =>
              row.neededLb
                .map(({analysis, lbPerAcrePerYear}) => `${lbPerAcrePerYear.toFixed(1)} of ${analysis}`)
                .join(", "),
          },
          {
            name: "saved_usd_per_ac_year",
            head: "product saved, $/ac a year",
            decimals: 2,
            signed: true,
            cell: (row) => row.productSavedPerAcrePerYear,
          },
          {name: "price_factor", head: "pays from product price ×", decimals: 2, cell: (row) => row.productPriceFactor},
          {
            name: "lab_usd_per_sample",
            head: "pays up to lab price, $/sample",
            decimals: 2,
            cell: (row) => row.labPerSample,
          },
          {
            name: "lab_usd_per_sample_all",
            head: "the same with yield and waste",
            decimals: 2,
            cell: (row) => row.labPerSampleAllCounted,
          },
        ],
        notes: ["Arithmetic only: product saved is not always rightly saved."],
      }),
    );
  }
  return tables;
}

/** Product cost over price and yield goal, and guide against guide. */
export function sensitivityTables({sensitivity = [], guides = []}: ReportModel): ReportTable[] {
  const tables: ReportTable[] = [];
  if (sensitivity.length > 0) {
    tables.push(
      tableOf({
        id: "sensitivity",
        title: "Product cost over price and yield goal",
        items: sensitivity.flatMap(({yieldFactor, priceFactor, strategies}) =>
          strategies.map((row) => ({yieldFactor, priceFactor, ...row})),
        ),
        columns: [
          {name: "yield_factor", head: "yield goal ×", decimals: 2, cell: ({yieldFactor}) => yieldFactor},
          {name: "price_factor", head: "product price ×", decimals: 2, cell: ({priceFactor}) => priceFactor},
          {name: "strategy", head: "strategy", cell: ({strategy}) => STRATEGY_NAMES[strategy]},
          {name: "product_lb", head: "product, lb", decimals: 0, cell: ({productLb}) => productLb},
          {name: "product_usd", head: "product, $", decimals: 0, cell: ({productCost}) => productCost},
          {
            name: "difference_usd",
            head: "against the first, $",
            decimals: 0,
            signed: true,
            cell: ({differenceCost}) => differenceCost,
          },
        ],
      }),
    );
  }
  if (guides.length > 0) {
    tables.push(
      tableOf({
        id: "guides",
        title: "Guide against guide on the same results",
        items: guides,
        columns: [
          {name: "guide", head: "guide", cell: (row) => row.guide},
          {name: "edition", head: "edition", cell: (row) => row.edition},
          {name: "strategy", head: "strategy", cell: (row) => row.strategy && STRATEGY_NAMES[row.strategy]},
          {name: "product", head: "product", cell: (row) => row.analysis},
          {name: "total_lb", head: "total, lb", decimals: 0, cell: (row) => row.totalLb},
          {
            name: "difference_lb",
            head: "against the first, lb",
            decimals: 0,
            signed: true,
            cell: (row) => row.differenceLb,
          },
          {name: "refused", head: "why not", cell: (row) => row.refused},
        ],
      }),
    );
  }
  return tables;
}
