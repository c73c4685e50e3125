import type {ReportModel} from "./report-model.ts";
import type {ReportTable} from "./report-table.ts";
import {STRATEGY_NAMES} from "./say-sure.ts";

/** Where two strategies part, where each is over or short, and what goes on ground that tests high. */
export function whereTables({differences = [], overUnder = [], aboveLimits = []}: ReportModel): ReportTable[] {
  const tables: ReportTable[] = [];
  if (differences.length > 0) {
    tables.push({
      id: "difference-maps",
      title: "Where two strategies part",
      columns: [
        {name: "product", head: "product"},
        {name: "strategy", head: "strategy"},
        {name: "against", head: "against"},
        {name: "tolerance_lb_per_ac", head: "beyond, lb/ac", decimals: 0},
        {name: "more_ac", head: "more on, ac", decimals: 1},
        {name: "less_ac", head: "less on, ac", decimals: 1},
        {name: "alike_ac", head: "alike on, ac", decimals: 1},
        {name: "more_lb", head: "lb more there", decimals: 0},
        {name: "less_lb", head: "lb less there", decimals: 0},
        {name: "net_lb", head: "net, lb", decimals: 0, signed: true},
      ],
      rows: differences.map((map) => [
        map.analysis,
        STRATEGY_NAMES[map.strategy],
        STRATEGY_NAMES[map.against],
        map.toleranceLbPerAcre,
        map.acresMore,
        map.acresLess,
        map.acresAlike,
        map.lbMore,
        map.lbLess,
        map.netLb,
      ]),
    });
  }
  if (overUnder.length > 0) {
    tables.push({
      id: "over-and-under",
      title: "Over and under the best available truth",
      columns: [
        {name: "nutrient", head: "nutrient"},
        {name: "strategy", head: "strategy"},
        {name: "tolerance_lb_per_ac", head: "beyond, lb/ac", decimals: 0},
        {name: "over_ac", head: "over on, ac", decimals: 1},
        {name: "under_ac", head: "short on, ac", decimals: 1},
        {name: "within_ac", head: "right on, ac", decimals: 1},
        {name: "unknown_ac", head: "not known, ac", decimals: 1},
        {name: "over_lb", head: "not needed, lb", decimals: 0},
        {name: "short_lb", head: "short, lb", decimals: 0},
        {name: "mean_error_lb_per_ac", head: "mean error, lb/ac", decimals: 1, signed: true},
        {name: "rmse_lb_per_ac", head: "typical error, lb/ac", decimals: 1},
      ],
      rows: overUnder.map((found) => [
        found.nutrient,
        STRATEGY_NAMES[found.strategy],
        found.toleranceLbPerAcre,
        found.acresOver,
        found.acresUnder,
        found.acresWithin,
        found.acresUnknown,
        found.lbOver,
        found.lbShort,
        found.meanError,
        found.rootMeanSquareError,
      ]),
      notes: [
        "A strategy measured by its own samples is always right, so it is left out. Pounds are of nutrient, not product.",
      ],
    });
  }
  if (aboveLimits.length > 0) {
    tables.push({
      id: "above-limits",
      title: "Product on ground that already tests high",
      columns: [
        {name: "nutrient", head: "nutrient"},
        {name: "strategy", head: "strategy"},
        {name: "limit", head: "limit"},
        {name: "value", head: "at", decimals: 0},
        {name: "unit", head: "unit"},
        {name: "above_ac", head: "ground above, ac", decimals: 1},
        {name: "spread_ac", head: "of it spread on, ac", decimals: 1},
        {name: "product_lb", head: "product, lb", decimals: 0},
        {name: "nutrient_lb", head: "nutrient, lb", decimals: 0},
        {name: "source", head: "whose limit"},
      ],
      rows: aboveLimits.map((found) => [
        found.nutrient,
        STRATEGY_NAMES[found.strategy],
        found.limit.label,
        found.limit.value,
        found.limit.unit,
        found.acresAbove,
        found.acresSpread,
        found.productLb,
        found.nutrientLb,
        found.limit.source,
      ]),
    });
  }
  return tables;
}
