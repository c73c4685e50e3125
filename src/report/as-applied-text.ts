import type {AppliedComparison, AppliedRow, LagEstimate} from "../prescription/as-applied/applied-comparison.ts";
import {METRES_PER_FOOT} from "../units/factors.ts";
import {formatNumber} from "../units/format.ts";
import {type TextColumn, tableLines, wrapWords} from "./text-table.ts";

/** One product's spreading, with what it was and what it was compared with. */
export interface AppliedOf {
  readonly product?: {readonly name: string; readonly analysis: string};
  readonly plan: string;
  readonly comparison: AppliedComparison;
  readonly ticketLb?: number;
}

/** Planned against applied, a table for each product: lb, acres covered, gaps, overlaps, acres off. */
export function asAppliedText(field: string, runs: readonly AppliedOf[], width = 110): string {
  const blocks = runs.map(({product, plan, comparison, ticketLb}) => {
    const {units, elsewhere, field: whole, outside, total, tolerancePct} = comparison;
    const rows = [...units, ...(elsewhere ? [elsewhere] : []), whole];
    return [
      product && product.name !== product.analysis ? `${product.name} ${product.analysis}` : (product?.analysis ?? ""),
      ...wrapWords(`${comparison.id} against ${plan}`, width),
      "",
      ...tableLines(columnsOf(rows), width),
      "",
      `Outside the field: ${formatNumber(outside.appliedLb)} lb on ${formatNumber(outside.acres, 2)} ac.`,
      `All told: ${formatNumber(total.appliedLb)} lb of ${formatNumber(total.plannedLb)} lb planned (${percent(total.differencePct)}).`,
      ...(ticketLb === undefined ? [] : [ticketLine(ticketLb, comparison)]),
      `Off: more than ${formatNumber(tolerancePct)} % from the planned rate, gaps among it.`,
      lagLine(comparison.lag),
    ].filter((line, i) => i > 0 || line !== "");
  });
  return `${[field, ...blocks.map((lines) => lines.join("\n"))].join("\n\n")}\n`;
}

function columnsOf(rows: readonly AppliedRow[]): TextColumn[] {
  const figures = (head: readonly string[], text: (row: AppliedRow) => string): TextColumn => ({
    head,
    align: "right",
    cells: rows.map(text),
  });
  const number = (value: number, decimals = 0): string => (Number.isNaN(value) ? "—" : formatNumber(value, decimals));
  return [
    {head: ["unit"], align: "left", cells: rows.map(({unit}) => unit)},
    figures(["", "ac"], (row) => number(row.acres, 1)),
    figures(["planned", "lb"], (row) => number(row.plannedLb)),
    figures(["applied", "lb"], (row) => number(row.appliedLb)),
    figures(["difference", "lb"], (row) => number(row.differenceLb)),
    figures(["", "%"], (row) => number(row.differencePct, 1)),
    figures(["covered", "ac"], (row) => number(row.coveredAcres, 1)),
    figures(["gap", "ac"], (row) => number(row.gapAcres, 2)),
    figures(["overlap", "ac"], (row) => number(row.overlapAcres, 2)),
    figures(["overlap", "lb"], (row) => number(row.overlapLb)),
    figures(["off", "ac"], (row) => number(row.offAcres, 1)),
  ];
}

function ticketLine(ticketLb: number, {loggedLb, total}: AppliedComparison): string {
  const logged = loggedLb ?? total.appliedLb;
  const off = percent((100 * (logged - ticketLb)) / ticketLb);
  return `By the log ${formatNumber(logged)} lb, by the ticket ${formatNumber(ticketLb)} lb (${off}).`;
}

function lagLine({lagS, lagM, refused, correlation}: LagEstimate): string {
  if (refused !== undefined || lagM === undefined) return `Lag behind the map: not told, because ${refused}.`;
  const feet = `${formatNumber(lagM / METRES_PER_FOOT)} ft`;
  const when = lagS === undefined ? feet : `${formatNumber(lagS, 1)} s, ${feet}`;
  return `Lag behind the map: ${when} (correlation ${formatNumber(correlation ?? Number.NaN, 2)}).`;
}

function percent(value: number): string {
  return Number.isNaN(value) ? "nothing planned" : `${value > 0 ? "+" : ""}${formatNumber(value, 1)} %`;
}
