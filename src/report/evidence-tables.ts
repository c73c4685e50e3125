import {SQUARE_METRES_PER_ACRE} from "../units/factors.ts";
import {payTables, sensitivityTables} from "./pay-tables.ts";
import type {ReportModel} from "./report-model.ts";
import type {ReportTable} from "./report-table.ts";
import {intervalText, STRATEGY_NAMES} from "./say-sure.ts";
import {whereTables} from "./where-tables.ts";

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
