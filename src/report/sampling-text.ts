import type {Strategy} from "../sampling/plan.ts";
import {formatNumber} from "../units/format.ts";
import {NONE} from "./report-table.ts";
import {walkText} from "./sampling-sheet.ts";
import {STRATEGY_NAMES} from "./say-sure.ts";
import {type TextColumn, tableLines} from "./text-table.ts";

export interface SamplingFigures {
  readonly strategy: Strategy;
  /** Mark of the plan, kept with its lab results. */
  readonly mark: string;
  readonly bags: number;
  readonly cores: number;
  readonly walkM: number;
  readonly hours: number;
  readonly cost?: number;
}

/** What each plan asks of a crew, for a terminal. */
export function samplingText(
  field: string,
  depth: string,
  plans: readonly SamplingFigures[],
  pace: string,
  width = 100,
): string {
  const figures = (head: readonly string[], text: (plan: SamplingFigures) => string): TextColumn => ({
    head,
    align: "right",
    cells: plans.map(text),
  });
  const lines = tableLines(
    [
      {head: ["", "strategy"], align: "left", cells: plans.map(({strategy}) => STRATEGY_NAMES[strategy])},
      {head: ["", "plan"], align: "left", cells: plans.map(({mark}) => mark)},
      figures(["", "bags"], ({bags}) => formatNumber(bags)),
      figures(["", "cores"], ({cores}) => formatNumber(cores)),
      figures(["", "walk"], ({walkM}) => walkText(walkM)),
      figures(["time,", "about"], ({hours}) => `${formatNumber(hours, 1)} h`),
      figures(["sampling", "$"], ({cost}) => (cost === undefined ? NONE : formatNumber(cost))),
    ],
    width,
  );
  const priced = plans.some(({cost}) => cost !== undefined);
  return [
    `${field}: soil cores to ${depth}`,
    "",
    ...lines,
    "",
    `Time: ${pace}.`,
    ...(priced ? [] : ['No cost: the job has no "prices".']),
  ].join("\n");
}
