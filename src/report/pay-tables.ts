import type {ReportModel} from "./report-model.ts";
import type {ReportTable} from "./report-table.ts";
import {intervalText, STRATEGY_NAMES} from "./say-sure.ts";

/** Expected loss over prices, and what finer sampling has to bring. */
export function payTables({pay, breakEvens = []}: ReportModel): ReportTable[] {
  const tables: ReportTable[] = [];
  if (pay) {
    tables.push({
      id: "pay",
      title: "Expected loss over a range of prices",
      columns: [
        {name: "grain_factor", head: "grain price ×", decimals: 2},
        {name: "fertilizer_factor", head: "fertilizer price ×", decimals: 2},
        {name: "strategy", head: "strategy"},
        {name: "yield_usd_per_ac_year", head: "yield not reached, $/ac a year", decimals: 2},
        {name: "excess_usd_per_ac_year", head: "not needed, $/ac a year", decimals: 2},
        {name: "sampling_usd_per_ac_year", head: "sampling, $/ac a year", decimals: 2},
        {name: "passes_usd_per_ac_year", head: "passes, $/ac a year", decimals: 2},
        {name: "total_usd_per_ac_year", head: "total, $/ac a year", decimals: 2},
        {name: "against_usd_per_ac_year", head: "against baseline", decimals: 2, signed: true},
        {name: "interval", head: "interval"},
        {name: "reading", head: "reading"},
      ],
      rows: pay.prices.flatMap(({grainFactor, fertilizerFactor, strategies, least}) =>
        strategies.map((part) => [
          grainFactor,
          fertilizerFactor,
          STRATEGY_NAMES[part.strategy],
          part.yieldLoss,
          part.excess,
          part.sampling,
          part.application,
          part.total,
          part.againstBaseline,
          part.interval && intervalText(part.interval, 2),
          [part.strategy === least ? "least" : "", part.verdict ?? ""].filter((text) => text !== "").join("; "),
        ]),
      ),
      notes: [...pay.notes, ...pay.curves.map(({title, basis, source}) => `Curve: ${title} (${basis}: ${source}).`)],
    });
  }
  if (breakEvens.length > 0) {
    tables.push({
      id: "break-even",
      title: "What finer sampling has to bring",
      columns: [
        {name: "strategy", head: "strategy"},
        {name: "against", head: "against"},
        {name: "extra_usd_per_ac_year", head: "costs more, $/ac a year", decimals: 2, signed: true},
        {name: "needed_yield_per_ac_year", head: "yield to pay it, a year"},
        {name: "needed_lb_per_ac_year", head: "or product to save, lb/ac a year"},
        {name: "saved_usd_per_ac_year", head: "product saved, $/ac a year", decimals: 2, signed: true},
        {name: "price_factor", head: "pays from product price ×", decimals: 2},
        {name: "lab_usd_per_sample", head: "pays up to lab price, $/sample", decimals: 2},
        {name: "lab_usd_per_sample_all", head: "the same with yield and waste", decimals: 2},
      ],
      rows: breakEvens.map((row) => [
        STRATEGY_NAMES[row.strategy],
        STRATEGY_NAMES[row.against],
        row.extraPerAcrePerYear,
        row.neededYield && `${row.neededYield.perAcrePerYear.toFixed(2)} ${row.neededYield.crop}`,
        row.neededLb.map(({analysis, lbPerAcrePerYear}) => `${lbPerAcrePerYear.toFixed(1)} of ${analysis}`).join(", "),
        row.productSavedPerAcrePerYear,
        row.productPriceFactor,
        row.labPerSample,
        row.labPerSampleAllCounted,
      ]),
      notes: ["Arithmetic only: product saved is not always rightly saved."],
    });
  }
  return tables;
}

/** Product cost over price and yield goal, and guide against guide. */
export function sensitivityTables({sensitivity = [], guides = []}: ReportModel): ReportTable[] {
  const tables: ReportTable[] = [];
  if (sensitivity.length > 0) {
    tables.push({
      id: "sensitivity",
      title: "Product cost over price and yield goal",
      columns: [
        {name: "yield_factor", head: "yield goal ×", decimals: 2},
        {name: "price_factor", head: "product price ×", decimals: 2},
        {name: "strategy", head: "strategy"},
        {name: "product_lb", head: "product, lb", decimals: 0},
        {name: "product_usd", head: "product, $", decimals: 0},
        {name: "difference_usd", head: "against the first, $", decimals: 0, signed: true},
      ],
      rows: sensitivity.flatMap(({yieldFactor, priceFactor, strategies}) =>
        strategies.map(({strategy, productLb, productCost, differenceCost}) => [
          yieldFactor,
          priceFactor,
          STRATEGY_NAMES[strategy],
          productLb,
          productCost,
          differenceCost,
        ]),
      ),
    });
  }
  if (guides.length > 0) {
    tables.push({
      id: "guides",
      title: "Guide against guide on the same results",
      columns: [
        {name: "guide", head: "guide"},
        {name: "edition", head: "edition"},
        {name: "strategy", head: "strategy"},
        {name: "product", head: "product"},
        {name: "total_lb", head: "total, lb", decimals: 0},
        {name: "difference_lb", head: "against the first, lb", decimals: 0, signed: true},
        {name: "refused", head: "why not"},
      ],
      rows: guides.map((row) => [
        row.guide,
        row.edition,
        row.strategy && STRATEGY_NAMES[row.strategy],
        row.analysis,
        row.totalLb,
        row.differenceLb,
        row.refused,
      ]),
    });
  }
  return tables;
}
