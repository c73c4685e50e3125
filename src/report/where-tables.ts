import type {OverUnder} from "../compare/over-and-under.ts";
import type {ReportModel} from "./report-model.ts";
import {type ReportTable, tableOf} from "./report-table.ts";
import {STRATEGY_NAMES} from "./say-sure.ts";

/** Where two strategies part, where each is over or short, and what goes on ground that tests high. */
export function whereTables({differences = [], overUnder = [], aboveLimits = []}: ReportModel): ReportTable[] {
  const tables: ReportTable[] = [];
  if (differences.length > 0) {
    tables.push(
      tableOf({
        id: "difference-maps",
        title: "Where two strategies part",
        items: differences,
        columns: [
          {name: "product", head: "product", cell: (map) => map.analysis},
          {name: "strategy", head: "strategy", cell: (map) => STRATEGY_NAMES[map.strategy]},
          {name: "against", head: "against", cell: (map) => STRATEGY_NAMES[map.against]},
          {name: "tolerance_lb_per_ac", head: "beyond, lb/ac", decimals: 0, cell: (map) => map.toleranceLbPerAcre},
          {name: "more_ac", head: "more on, ac", decimals: 1, cell: (map) => map.acresMore},
          {name: "less_ac", head: "less on, ac", decimals: 1, cell: (map) => map.acresLess},
          {name: "alike_ac", head: "alike on, ac", decimals: 1, cell: (map) => map.acresAlike},
          {name: "more_lb", head: "lb more there", decimals: 0, cell: (map) => map.lbMore},
          {name: "less_lb", head: "lb less there", decimals: 0, cell: (map) => map.lbLess},
          {name: "net_lb", head: "net, lb", decimals: 0, signed: true, cell: (map) => map.netLb},
        ],
      }),
    );
  }
  if (overUnder.length > 0) {
    tables.push(
      tableOf({
        id: "over-and-under",
        title: "Over and under the best available truth",
        items: overUnder,
        columns: [
          {name: "nutrient", head: "nutrient", cell: (found) => found.nutrient},
          {name: "strategy", head: "strategy", cell: (found) => STRATEGY_NAMES[found.strategy]},
          {name: "tolerance_lb_per_ac", head: "beyond, lb/ac", decimals: 0, cell: (found) => found.toleranceLbPerAcre},
          {name: "over_ac", head: "over on, ac", decimals: 1, cell: (found) => found.acresOver},
          {name: "under_ac", head: "short on, ac", decimals: 1, cell: (found) => found.acresUnder},
          {name: "within_ac", head: "right on, ac", decimals: 1, cell: (found) => found.acresWithin},
          {name: "unknown_ac", head: "not known, ac", decimals: 1, cell: (found) => found.acresUnknown},
          ...(overUnder.some(({acresSetBack}) => acresSetBack !== undefined)
            ? [
                {
                  name: "set_back_ac",
                  head: "in setbacks, not judged, ac",
                  decimals: 1,
                  cell: (found: OverUnder) => found.acresSetBack,
                },
              ]
            : []),
          {name: "over_lb", head: "not needed, lb", decimals: 0, cell: (found) => found.lbOver},
          {name: "short_lb", head: "short, lb", decimals: 0, cell: (found) => found.lbShort},
          {
            name: "mean_error_lb_per_ac",
            head: "mean error, lb/ac",
            decimals: 1,
            signed: true,
            cell: (found) => found.meanError,
          },
          {
            name: "rmse_lb_per_ac",
            head: "typical error, lb/ac",
            decimals: 1,
            cell: (found) => found.rootMeanSquareError,
          },
        ],
        notes: [
          "A strategy measured by its own samples is always right, so it is left out. Pounds are of nutrient, not product.",
        ],
      }),
    );
  }
  if (aboveLimits.length > 0) {
    tables.push(
      tableOf({
        id: "above-limits",
        title: "Product on ground that already tests high",
        items: aboveLimits,
        columns: [
          {name: "nutrient", head: "nutrient", cell: (found) => found.nutrient},
          {name: "strategy", head: "strategy", cell: (found) => STRATEGY_NAMES[found.strategy]},
          {name: "limit", head: "limit", cell: (found) => found.limit.label},
          {name: "value", head: "at", decimals: 0, cell: (found) => found.limit.value},
          {name: "unit", head: "unit", cell: (found) => found.limit.unit},
          {name: "above_ac", head: "ground above, ac", decimals: 1, cell: (found) => found.acresAbove},
          {name: "spread_ac", head: "of it spread on, ac", decimals: 1, cell: (found) => found.acresSpread},
          {name: "product_lb", head: "product, lb", decimals: 0, cell: (found) => found.productLb},
          {name: "nutrient_lb", head: "nutrient, lb", decimals: 0, cell: (found) => found.nutrientLb},
          {name: "source", head: "whose limit", cell: (found) => found.limit.source},
        ],
      }),
    );
  }
  return tables;
}
