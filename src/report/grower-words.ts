import type {ComparisonRow} from "../compare/comparison.ts";
import type {Strategy} from "../sampling/plan.ts";
import {formatNumber} from "../units/format.ts";
import {orders, ratedRows, sayChoice, spreadRow} from "./order-words.ts";
import type {ReportModel} from "./report-model.ts";
import {certainTotal, intervalText, STRATEGY_NAMES} from "./say-sure.ts";

/** One of the three answers at the head of the field report. */
export interface ShortAnswer {
  readonly question: string;
  readonly answer: string;
  readonly why: string;
}

/** Which strategy, how much, how sure: what a reader must know after a minute. */
export function inShort(model: ReportModel): ShortAnswer[] {
  const {advice, certainty} = model;
  const row = leadingRow(model);
  const open = spreadRow(model) === undefined && ratedRows(model).length > 1;
  const decided = advice?.strategy !== undefined || spreadRow(model) !== undefined;
  const judged = advice ? advice.headline : "What each spot needs was not judged here; choose with your adviser.";
  return [
    {
      question: "Which way to sample and spread?",
      answer: decided ? STRATEGY_NAMES[row.strategy] : "Not settled by these figures",
      why: [sayChoice(model), judged].filter(Boolean).join(" "),
    },
    open
      ? {
          question: "How much?",
          answer: "Hangs on the strategy, not chosen yet",
          why: ratedRows(model)
            .map((one) => `${STRATEGY_NAMES[one.strategy]}: ${amountsOf(one)}.`)
            .join(" "),
        }
      : {question: "How much?", answer: amountsOf(row) || "No rates yet", why: besideBaseline(model, row)},
    {
      question: "How sure?",
      answer: certainty ? sureInAWord(model, row.strategy) : "Not worked out",
      why: certainty
        ? `${open ? `${STRATEGY_NAMES[row.strategy]}: ` : ""}${row.products
            .filter(({nutrient}) => nutrient !== "lime")
            .map(({analysis, nutrient}) => rangeOf(model, row.strategy, analysis, nutrient))
            .join("; ")} (nine in ten).`.replace("nine in ten", inTen(certainty.level))
        : "The figures rest on one day's sampling.",
    },
  ];
}

/** Numbered steps for the season: those of the strategy that is spread, or the orders of all until one is chosen. */
export function whatToDo(model: ReportModel): string[] {
  const {certainty, money} = model;
  const row = spreadRow(model);
  const name = row && STRATEGY_NAMES[row.strategy].toLowerCase();
  return [
    ...[sayChoice(model)].filter(Boolean),
    ...orders(model),
    ...(name
      ? [
          `Load the ${name} rate file, and see on the controller that field, rates, units and totals are those of ${name} above.`,
          "Keep the as-applied record and lay it beside these totals; 2 % apart is good.",
        ]
      : [
          "Choose with your adviser and name the strategy at the hand-over; this report then gives its order alone.",
          "Keep the as-applied record and lay it beside the totals of the strategy that was spread; 2 % apart is good.",
        ]),
    ...(certainty?.notes.some((note) => note.includes("assumed"))
      ? ["Next time pull two bags from each of ten units: it shows how far cores and lab scatter on this field."]
      : []),
    ...(money
      ? [`Sample again in ${formatNumber(money.samplingYears)} years, same season, same depth, same spots.`]
      : []),
  ];
}

/** The strategy that is spread; else the one advised, or what the others are measured by. */
function leadingRow(model: ReportModel): ComparisonRow {
  const {comparison, advice} = model;
  const wanted = advice?.strategy ?? comparison.baseline;
  return (spreadRow(model) ??
    comparison.rows.find(({strategy}) => strategy === wanted) ??
    comparison.rows[0]) as ComparisonRow;
}

function amountsOf({products}: ComparisonRow): string {
  return products.map(({analysis, totalLb}) => `${formatNumber(totalLb)} lb of ${analysis}`).join(" and ");
}

function besideBaseline({comparison}: ReportModel, {strategy, productCost, products}: ComparisonRow): string {
  const baseline = STRATEGY_NAMES[comparison.baseline].toLowerCase();
  const others = products.flatMap(({analysis, differenceLb}) =>
    differenceLb === undefined ? [] : [`${signed(differenceLb)} lb of ${analysis}`],
  );
  return [
    `By ${STRATEGY_NAMES[strategy].toLowerCase()}${productCost === undefined ? "" : `, $${formatNumber(productCost)} of product`}.`,
    ...(others.length > 0 ? [`Against ${baseline}: ${others.join(", ")}.`] : []),
  ].join(" ");
}

function sureInAWord({certainty, comparison}: ReportModel, strategy: Strategy): string {
  const {baseline} = comparison;
  if (!certainty) return "";
  const mine = certainty.differences.filter(
    (d) =>
      (d.strategy === strategy && d.against === baseline) ||
      (d.against === strategy && d.strategy === baseline) ||
      (strategy === baseline && (d.strategy === baseline || d.against === baseline)),
  );
  const clear = [
    ...new Set(mine.filter(({verdict}) => verdict !== "no clear difference").map(({analysis}) => analysis)),
  ];
  const all = new Set(mine.map(({analysis}) => analysis)).size;
  const from = strategy === baseline ? "other ways" : STRATEGY_NAMES[baseline].toLowerCase();
  if (mine.length === 0) return "Nothing to compare";
  if (clear.length === 0) return `No clear difference from ${from}`;
  return clear.length === all
    ? `Clearly apart from ${from}`
    : `Clearly apart from ${from} in ${clear.join(" and ")} only`;
}

function rangeOf({certainty}: ReportModel, strategy: Strategy, analysis: string, nutrient: string): string {
  const total = certainTotal(certainty, strategy, analysis, nutrient);
  if (!total) return analysis;
  const {low, high} = total.totalLbInterval;
  if (intervalText({low, high}) === intervalText({low, high: low})) return `${analysis} does not move`;
  return `${analysis} between ${formatNumber(low)} and ${formatNumber(high)} lb`;
}

function inTen(level: number): string {
  return level === 0.9 ? "nine times in ten" : `${formatNumber(100 * level)} % of the time`;
}

function signed(value: number): string {
  const text = formatNumber(value);
  return value > 0 && text !== "0" ? `+${text}` : text;
}
