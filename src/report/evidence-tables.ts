import {SQUARE_METRES_PER_ACRE} from "../units/factors.ts";
import type {ReportModel} from "./report-model.ts";
import type {ReportTable} from "./report-table.ts";
import {intervalText, STRATEGY_NAMES} from "./say-sure.ts";

/** Where product goes, how sure it all is, whether it pays, and what it hangs on. */
export function evidenceTables(model: ReportModel): ReportTable[] {
  return [
    ...certaintyTables(model),
    ...whereTables(model),
    ...holdOutTables(model),
    ...thinTables(model),
    ...payTables(model),
    ...sensitivityTables(model),
  ];
}

function certaintyTables({certainty}: ReportModel): ReportTable[] {
  if (!certainty) return [];
  return [
    {
      id: "differences",
      title: "Differences between strategies",
      columns: [
        {name: "product", head: "product"},
        {name: "strategy", head: "strategy"},
        {name: "against", head: "against"},
        {name: "lb", head: "lb", decimals: 0, signed: true},
        {name: "low_lb", head: "interval from, lb", decimals: 0, signed: true},
        {name: "high_lb", head: "to, lb", decimals: 0, signed: true},
        {name: "verdict", head: "reading"},
      ],
      rows: certainty.differences.map(({analysis, strategy, against, lb, interval, verdict}) => [
        analysis,
        STRATEGY_NAMES[strategy],
        STRATEGY_NAMES[against],
        lb,
        interval.low,
        interval.high,
        verdict === "no clear difference" ? verdict : `clearly ${verdict}`,
      ]),
      notes: certainty.notes,
    },
    {
      id: "noise",
      title: "Scatter of cores and lab the intervals were made with",
      columns: [
        {name: "test", head: "test"},
        {name: "strategy", head: "strategy"},
        {name: "core", head: "between cores", decimals: 1},
        {name: "lab", head: "lab, or whole composite", decimals: 1},
        {name: "unit", head: "unit"},
        {name: "basis", head: "basis"},
        {name: "source", head: "where from"},
      ],
      rows: certainty.noise.map(({analyte, strategy, core, lab, scale, basis, source}) => [
        analyte,
        strategy ? STRATEGY_NAMES[strategy] : "all",
        core,
        lab,
        scale === "share" ? "% of the value" : "as the test",
        basis,
        source,
      ]),
    },
    {
      id: "unit-rates",
      title: "Each unit's rate and how firm it is",
      columns: [
        {name: "strategy", head: "strategy"},
        {name: "unit", head: "unit"},
        {name: "product", head: "product"},
        {name: "lb_per_ac", head: "rate, lb/ac", decimals: 0},
        {name: "low_lb_per_ac", head: "interval from, lb/ac", decimals: 0},
        {name: "high_lb_per_ac", head: "to, lb/ac", decimals: 0},
        {
          name: "chance_of_another_rate_pct",
          head: `chance to be off by over ${certainty.toleranceLbPerAcre} lb/ac, %`,
          decimals: 0,
        },
      ],
      rows: certainty.strategies.flatMap(({strategy, units}) =>
        units.map(({unit, code, lbPerAcre, interval, chanceOfAnotherRate}) => [
          STRATEGY_NAMES[strategy],
          unit,
          code,
          lbPerAcre,
          interval.low,
          interval.high,
          100 * chanceOfAnotherRate,
        ]),
      ),
    },
  ];
}

function whereTables({differences = [], overUnder = [], aboveLimits = []}: ReportModel): ReportTable[] {
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

function holdOutTables({holdOuts = []}: ReportModel): ReportTable[] {
  if (holdOuts.length === 0) return [];
  return [
    {
      id: "hold-outs",
      title: "Judged by hold-out samples",
      columns: [
        {name: "what", head: "what"},
        {name: "strategy", head: "strategy"},
        {name: "samples", head: "samples", decimals: 0},
        {name: "unit", head: "unit"},
        {name: "mean_error", head: "mean error", decimals: 2, signed: true},
        {name: "mean_absolute_error", head: "mean without sign", decimals: 2},
        {name: "rmse", head: "typical error", decimals: 2},
        {name: "rmse_interval", head: "interval"},
        {name: "efficiency_pct", head: "better than baseline, %", decimals: 0, signed: true},
        {name: "efficiency_interval_pct", head: "interval, %"},
        {name: "rank_correlation", head: "rank correlation", decimals: 2},
        {name: "same_class_pct", head: "right class, %", decimals: 0},
        {name: "kappa", head: "kappa", decimals: 2},
        {name: "noise_floor", head: "noise floor", decimals: 2},
      ],
      rows: holdOuts.flatMap(({what, unit, strategies, noiseFloor}) =>
        strategies.map((row) => [
          what,
          STRATEGY_NAMES[row.strategy],
          row.count,
          unit,
          row.meanError,
          row.meanAbsoluteError,
          row.rootMeanSquareError,
          intervalText(row.rootMeanSquareErrorInterval, 2),
          row.efficiencyPct,
          row.efficiencyPctInterval && intervalText(row.efficiencyPctInterval),
          row.rankCorrelation,
          row.sameClass === undefined ? undefined : 100 * row.sameClass,
          row.kappa,
          noiseFloor,
        ]),
      ),
      notes: [
        ...holdOuts.flatMap(({what, differences}) =>
          differences.map(
            ({strategy, against, verdict}) =>
              `${what}: ${STRATEGY_NAMES[strategy]} against ${STRATEGY_NAMES[against]}: ${verdict === "less" || verdict === "more" ? `errs ${verdict}` : verdict}.`,
          ),
        ),
        ...new Set(holdOuts.flatMap(({notes}) => notes)),
      ],
    },
  ];
}

function thinTables({thinned = []}: ReportModel): ReportTable[] {
  if (thinned.length === 0) return [];
  return [
    {
      id: "thinning",
      title: "What a wider grid would have missed",
      columns: [
        {name: "what", head: "what"},
        {name: "ac_per_sample", head: "ac per sample", decimals: 1},
        {name: "kept", head: "samples kept", decimals: 0},
        {name: "unit", head: "unit"},
        {name: "nearest_rmse", head: "error of nearest sample", decimals: 2},
        {name: "mapped_rmse", head: "error of map", decimals: 2},
        {name: "mean_rmse", head: "error of field mean", decimals: 2},
        {name: "mapped_efficiency_pct", head: "map better than mean, %", decimals: 0, signed: true},
        {name: "pattern", head: "pattern"},
      ],
      rows: thinned.flatMap(({what, unit, structure, leaveOneOut, steps}) =>
        [leaveOneOut, ...steps].map((step, i) => [
          what,
          i === 0 ? "all but one" : step.areaM2 / SQUARE_METRES_PER_ACRE,
          step.kept,
          unit,
          step.nearestRmse,
          step.mappedRmse,
          step.meanRmse,
          step.mappedEfficiencyPct,
          i === 0 ? structure : undefined,
        ]),
      ),
      notes: thinned[0]?.notes ?? [],
    },
  ];
}

function payTables({pay, breakEvens = []}: ReportModel): ReportTable[] {
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

function sensitivityTables({sensitivity = [], guides = []}: ReportModel): ReportTable[] {
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
