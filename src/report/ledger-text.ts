import type {SamplingAdvice} from "../compare/advise-sampling.ts";
import type {Certainty} from "../compare/certainty.ts";
import type {Comparison, ComparisonRow, ProductLine} from "../compare/comparison.ts";
import type {Strategy} from "../sampling/plan.ts";
import {formatNumber} from "../units/format.ts";
import type {Nutrient} from "../units/nutrient.ts";
import {certainTotal, intervalText, STRATEGY_NAMES as NAMES, nearLimitSentences, sureSentences} from "./say-sure.ts";
import {type TextColumn, tableLines, wrapWords} from "./text-table.ts";

/** What stands where there is no figure; a baseline has no difference from itself. */
const NONE = "—";

/**
 * The ledger for a terminal or a letter: sampling and money, one table for each product, acres by soil-test class,
 * and the notes that belong under it.
 *
 * @param width - Longest line, characters. Default 100.
 * @param evidence - Adds intervals beside the totals and how sure it all is, in plain sentences.
 */
export function ledgerText(comparison: Comparison, width = 100, evidence: LedgerEvidence = {}): string {
  const {field, acres, baseline, rows, notes} = comparison;
  const {certainty} = evidence;
  const blocks: string[][] = [
    [`${field}, ${formatNumber(acres, 1)} ac`, `compared with ${NAMES[baseline].toLowerCase()}`],
    samplingBlock(rows, baseline, width),
    ...productsIn(rows).map((product) => productBlock(product, rows, baseline, width, certainty)),
    ...nutrientsIn(rows).map((nutrient) => classBlock(nutrient, rows, width)),
    ...sureBlock(evidence, width),
    notes.flatMap((note) => wrapWords(note, width - 2).map((line, i) => (i === 0 ? `· ${line}` : `  ${line}`))),
  ];
  return `${blocks.map((lines) => lines.join("\n")).join("\n\n")}\n`;
}

/** What is known of how sure the figures are. */
export interface LedgerEvidence {
  readonly certainty?: Certainty | undefined;
  readonly advice?: SamplingAdvice | undefined;
}

/** Headline and reasons, then a sentence for each product; nothing when nothing is known. */
function sureBlock({certainty, advice}: LedgerEvidence, width: number): string[][] {
  const sentences = [
    ...(advice ? [advice.headline, ...advice.reasons] : []),
    ...(certainty ? [...sureSentences(certainty), ...nearLimitSentences(certainty)] : []),
    ...(certainty?.notes ?? []),
  ];
  if (sentences.length === 0) return [];
  return [["How sure", "", ...sentences.flatMap((sentence) => wrapWords(sentence, width))]];
}

function samplingBlock(rows: readonly ComparisonRow[], baseline: Strategy, width: number): string[] {
  const perYear = rows.some((row) => row.samplingCostPerYear !== undefined);
  return tableLines(
    [
      names(rows),
      figures(["", "samples"], rows, (row) => formatNumber(row.samples)),
      figures(["", "cores"], rows, (row) => formatNumber(row.cores)),
      figures(["ac per", "sample"], rows, (row) => formatNumber(row.acresPerSample, 1)),
      figures(["sampling", "$"], rows, (row) => dollars(row.samplingCost)),
      ...(perYear ? [figures(["sampling", "$ a year"], rows, (row) => dollars(row.samplingCostPerYear))] : []),
      figures(["product", "$"], rows, (row) => dollars(row.productCost)),
      figures(["total", "$"], rows, (row) => dollars(row.totalCost)),
      figures(againstHead(baseline, "$"), rows, (row) => signed(row.differenceCost)),
    ],
    width,
  );
}

type ProductId = Pick<ProductLine, "analysis" | "nutrient" | "code">;

function productBlock(
  id: ProductId,
  rows: readonly ComparisonRow[],
  baseline: Strategy,
  width: number,
  certainty: Certainty | undefined,
): string[] {
  const intervalOf = (strategy: Strategy): string => {
    const total = certainTotal(certainty, strategy, id.analysis, id.nutrient);
    return total ? intervalText(total.totalLbInterval) : NONE;
  };
  const column = (head: readonly string[], textOf: (line: ProductLine) => string): TextColumn =>
    figures(head, rows, (row) => {
      const line = row.products.find((other) => isSame(id, other));
      return line ? textOf(line) : NONE;
    });
  const lines = rows.flatMap((row) => row.products.filter((line) => isSame(id, line)));
  const carriesN = id.nutrient !== "N" && lines.some((line) => line.nitrogenLb > 0);
  // Whole pounds, unless the machine's step is finer.
  const decimals = lines.every((line) => Number.isInteger(line.minLbPerAcre) && Number.isInteger(line.maxLbPerAcre))
    ? 0
    : 1;
  return [
    id.nutrient === "lime" ? `${id.analysis} (${id.code})` : `${id.analysis} (${id.code}) for ${id.nutrient}`,
    "",
    ...tableLines(
      [
        names(rows),
        column(["mean", "lb/ac"], (line) => formatNumber(line.meanLbPerAcre, 1)),
        column(["least", "lb/ac"], (line) => formatNumber(line.minLbPerAcre, decimals)),
        column(["most", "lb/ac"], (line) => formatNumber(line.maxLbPerAcre, decimals)),
        column(["total", "lb"], (line) => formatNumber(line.totalLb)),
        ...(certainty
          ? [
              figures([`${formatNumber(100 * certainty.level)} %`, "interval", "lb"], rows, (row) =>
                intervalOf(row.strategy),
              ),
            ]
          : []),
        ...(id.nutrient === "lime" ? [] : [column([id.nutrient, "lb"], (line) => formatNumber(line.nutrientLb))]),
        ...(carriesN ? [column(["N with it", "lb"], (line) => formatNumber(line.nitrogenLb))] : []),
        column(["rounding,", "limits", "lb"], (line) => signed(line.shiftedLb)),
        column(["cost", "$"], (line) => dollars(line.cost)),
        column(againstHead(baseline, "lb"), (line) => signed(line.differenceLb)),
      ],
      width,
    ),
  ];
}

function classBlock(nutrient: Nutrient, rows: readonly ComparisonRow[], width: number): string[] {
  const tested = rows.filter((row) => row.acresByClass[nutrient] !== undefined);
  const classes = [...new Set(tested.flatMap((row) => (row.acresByClass[nutrient] ?? []).map((c) => c.testClass)))];
  return [
    `Soil test for ${nutrient}: acres by class`,
    "",
    ...tableLines(
      [
        names(tested),
        ...classes.map((testClass) =>
          figures([...wrapWords(testClass, 16), "ac"], tested, (row) => {
            const found = row.acresByClass[nutrient]?.find((c) => c.testClass === testClass);
            return formatNumber(found?.acres ?? 0, 1);
          }),
        ),
      ],
      width,
    ),
  ];
}

function names(rows: readonly ComparisonRow[]): TextColumn {
  return {head: ["strategy"], align: "left", cells: rows.map((row) => NAMES[row.strategy])};
}

function figures(
  head: readonly string[],
  rows: readonly ComparisonRow[],
  textOf: (row: ComparisonRow) => string,
): TextColumn {
  return {head, align: "right", cells: rows.map(textOf)};
}

function againstHead(baseline: Strategy, unit: string): string[] {
  return ["against", NAMES[baseline].toLowerCase(), unit];
}

function dollars(value: number | undefined): string {
  return value === undefined ? NONE : formatNumber(value);
}

/** With its sign, as differences are read: +120, −5,600, 0. */
function signed(value: number | undefined): string {
  if (value === undefined) return NONE;
  const text = formatNumber(value);
  return value > 0 && text !== "0" ? `+${text}` : text;
}

function productsIn(rows: readonly ComparisonRow[]): ProductId[] {
  const found: ProductId[] = [];
  for (const line of rows.flatMap((row) => row.products)) {
    if (!found.some((other) => isSame(line, other))) found.push(line);
  }
  return found;
}

function nutrientsIn(rows: readonly ComparisonRow[]): Nutrient[] {
  return (["N", "P2O5", "K2O"] as const).filter((nutrient) => rows.some((row) => row.acresByClass[nutrient]));
}

function isSame(a: ProductId, b: ProductId): boolean {
  return a.analysis === b.analysis && a.nutrient === b.nutrient;
}
