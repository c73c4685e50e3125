import {SQUARE_METRES_PER_ACRE} from "../units/factors.ts";
import {payTables, sensitivityTables} from "./pay-tables.ts";
import type {ReportModel} from "./report-model.ts";
import {type ReportTable, tableOf} from "./report-table.ts";
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
    tableOf({
      id: "differences",
      title: "Differences between strategies",
      items: certainty.differences,
      columns: [
        {name: "product", head: "product", cell: ({analysis}) => analysis},
        {name: "strategy", head: "strategy", cell: ({strategy}) => STRATEGY_NAMES[strategy]},
        {name: "against", head: "against", cell: ({against}) => STRATEGY_NAMES[against]},
        {name: "lb", head: "lb", decimals: 0, signed: true, cell: ({lb}) => lb},
        {name: "low_lb", head: "interval from, lb", decimals: 0, signed: true, cell: ({interval}) => interval.low},
        {name: "high_lb", head: "to, lb", decimals: 0, signed: true, cell: ({interval}) => interval.high},
        {
          name: "verdict",
          head: "reading",
          cell: ({verdict}) => (verdict === "no clear difference" ? verdict : `clearly ${verdict}`),
        },
      ],
      notes: certainty.notes,
    }),
    tableOf({
      id: "noise",
      title: "Scatter of cores and lab the intervals were made with",
      items: certainty.noise,
      columns: [
        {name: "test", head: "test", cell: ({analyte}) => analyte},
        {name: "strategy", head: "strategy", cell: ({strategy}) => (strategy ? STRATEGY_NAMES[strategy] : "all")},
        {name: "core", head: "between cores", decimals: 1, cell: ({core}) => core},
        {name: "lab", head: "lab, or whole composite", decimals: 1, cell: ({lab}) => lab},
        {name: "unit", head: "unit", cell: ({scale}) => (scale === "share" ? "% of the value" : "as the test")},
        {name: "basis", head: "basis", cell: ({basis}) => basis},
        {name: "source", head: "where from", cell: ({source}) => source},
      ],
    }),
    tableOf({
      id: "unit-rates",
      title: "Each unit's rate and how firm it is",
      items: certainty.strategies.flatMap(({strategy, units}) => units.map((row) => ({strategy, ...row}))),
      columns: [
        {name: "strategy", head: "strategy", cell: ({strategy}) => STRATEGY_NAMES[strategy]},
        {name: "unit", head: "unit", cell: ({unit}) => unit},
        {name: "product", head: "product", cell: ({code}) => code},
        {name: "lb_per_ac", head: "rate, lb/ac", decimals: 0, cell: ({lbPerAcre}) => lbPerAcre},
        {name: "low_lb_per_ac", head: "interval from, lb/ac", decimals: 0, cell: ({interval}) => interval.low},
        {name: "high_lb_per_ac", head: "to, lb/ac", decimals: 0, cell: ({interval}) => interval.high},
        {
          name: "chance_of_another_rate_pct",
          head: `chance to be off by over ${certainty.toleranceLbPerAcre} lb/ac, %`,
          decimals: 0,
          cell: ({chanceOfAnotherRate}) => 100 * chanceOfAnotherRate,
        },
      ],
    }),
  ];
}

function holdOutTables({holdOuts = []}: ReportModel): ReportTable[] {
  if (holdOuts.length === 0) return [];
  return [
    tableOf({
      id: "hold-outs",
      title: "Judged by hold-out samples",
      items: holdOuts.flatMap(({what, unit, strategies, noiseFloor}) =>
        strategies.map((row) => ({what, unit, noiseFloor, row})),
      ),
      columns: [
        {name: "what", head: "what", cell: ({what}) => what},
        {name: "strategy", head: "strategy", cell: ({row}) => STRATEGY_NAMES[row.strategy]},
        {name: "samples", head: "samples", decimals: 0, cell: ({row}) => row.count},
        {name: "unit", head: "unit", cell: ({unit}) => unit},
        {name: "mean_error", head: "mean error", decimals: 2, signed: true, cell: ({row}) => row.meanError},
        {name: "mean_absolute_error", head: "mean without sign", decimals: 2, cell: ({row}) => row.meanAbsoluteError},
        {name: "rmse", head: "typical error", decimals: 2, cell: ({row}) => row.rootMeanSquareError},
        {name: "rmse_interval", head: "interval", cell: ({row}) => intervalText(row.rootMeanSquareErrorInterval, 2)},
        {
          name: "efficiency_pct",
          head: "better than baseline, %",
          decimals: 0,
          signed: true,
          cell: ({row}) => row.efficiencyPct,
        },
        {
          name: "efficiency_interval_pct",
          head: "interval, %",
          cell: ({row}) => row.efficiencyPctInterval && intervalText(row.efficiencyPctInterval),
        },
        {name: "rank_correlation", head: "rank correlation", decimals: 2, cell: ({row}) => row.rankCorrelation},
        {
          name: "same_class_pct",
          head: "right class, %",
          decimals: 0,
          cell: ({row}) => (row.sameClass === undefined ? undefined : 100 * row.sameClass),
        },
        {name: "kappa", head: "kappa", decimals: 2, cell: ({row}) => row.kappa},
        {name: "noise_floor", head: "noise floor", decimals: 2, cell: ({noiseFloor}) => noiseFloor},
      ],
      notes: [
        ...holdOuts.flatMap(({what, differences}) =>
          differences.map(
            ({strategy, against, verdict}) =>
              `${what}: ${STRATEGY_NAMES[strategy]} against ${STRATEGY_NAMES[against]}: ${verdict === "less" || verdict === "more" ? `errs ${verdict}` : verdict}.`,
          ),
        ),
        ...new Set(holdOuts.flatMap(({notes}) => notes)),
      ],
    }),
  ];
}

function thinTables({thinned = []}: ReportModel): ReportTable[] {
  if (thinned.length === 0) return [];
  return [
    tableOf({
      id: "thinning",
      title: "What a wider grid would have missed",
      items: thinned.flatMap(({what, unit, structure, leaveOneOut, steps}) =>
        [leaveOneOut, ...steps].map((step, i) => ({what, unit, structure, step, i})),
      ),
      columns: [
        {name: "what", head: "what", cell: ({what}) => what},
        {
          name: "ac_per_sample",
          head: "ac per sample",
          decimals: 1,
          cell: ({step, i}) => (i === 0 ? "all but one" : step.areaM2 / SQUARE_METRES_PER_ACRE),
        },
        {name: "kept", head: "samples kept", decimals: 0, cell: ({step}) => step.kept},
        {name: "unit", head: "unit", cell: ({unit}) => unit},
        {name: "nearest_rmse", head: "error of nearest sample", decimals: 2, cell: ({step}) => step.nearestRmse},
        {name: "mapped_rmse", head: "error of map", decimals: 2, cell: ({step}) => step.mappedRmse},
        {name: "mean_rmse", head: "error of field mean", decimals: 2, cell: ({step}) => step.meanRmse},
        {
          name: "mapped_efficiency_pct",
          head: "map better than mean, %",
          decimals: 0,
          signed: true,
          cell: ({step}) => step.mappedEfficiencyPct,
        },
        {name: "pattern", head: "pattern", cell: ({structure, i}) => (i === 0 ? structure : undefined)},
      ],
      notes: thinned[0]?.notes ?? [],
    }),
  ];
}
