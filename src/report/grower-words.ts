import type {ComparisonRow} from "../compare/comparison.ts";
import type {Strategy} from "../sampling/plan.ts";
import {formatNumber} from "../units/format.ts";
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
  const row = chosenRow(model);
  const amounts = row.products.map(({analysis, totalLb}) => `${formatNumber(totalLb)} lb of ${analysis}`);
  const baseline = STRATEGY_NAMES[model.comparison.baseline].toLowerCase();
  const others = row.products.flatMap(({analysis, differenceLb}) =>
    differenceLb === undefined ? [] : [`${signed(differenceLb)} lb of ${analysis}`],
  );
  const decided = advice?.strategy !== undefined;
  return [
    {
      question: "Which way to sample and spread?",
      answer: decided ? STRATEGY_NAMES[row.strategy] : "Not settled by these figures",
      why: advice ? advice.headline : "What each spot needs was not judged here; choose with your adviser.",
    },
    {
      question: "How much?",
      answer: amounts.length > 0 ? amounts.join(" and ") : "No rates yet",
      why: [
        `By ${STRATEGY_NAMES[row.strategy].toLowerCase()}${row.productCost === undefined ? "" : `, $${formatNumber(row.productCost)} of product`}.`,
        ...(others.length > 0 ? [`Against ${baseline}: ${others.join(", ")}.`] : []),
      ].join(" "),
    },
    {
      question: "How sure?",
      answer: certainty ? sureInAWord(model, row.strategy) : "Not worked out",
      why: certainty
        ? `${row.products
            .filter(({nutrient}) => nutrient !== "lime")
            .map(({analysis, nutrient}) => rangeOf(model, row.strategy, analysis, nutrient))
            .join("; ")} (nine in ten).`.replace("nine in ten", inTen(certainty.level))
        : "The figures rest on one day's sampling.",
    },
  ];
}

/** Numbered steps for the season, the chosen strategy's own; with no choice, those of the baseline. */
export function whatToDo(model: ReportModel): string[] {
  const {advice, certainty, money} = model;
  const row = chosenRow(model);
  const name = STRATEGY_NAMES[row.strategy].toLowerCase();
  const steps: string[] = [];
  if (advice?.strategy === undefined) {
    steps.push(`Settle the strategy with your adviser; the steps below are for ${name}.`);
  }
  for (const {analysis, nutrient, totalLb, minLbPerAcre, maxLbPerAcre} of row.products) {
    if (totalLb === 0) {
      const most = certainTotal(certainty, row.strategy, analysis, nutrient)?.totalLbInterval.high ?? 0;
      steps.push(
        most > 0
          ? `No ${analysis} is called for, but the test stands at the guide's limit: another day's cores could call for up to ${formatNumber(most)} lb. Sample again before you rely on it.`
          : `No ${analysis} is called for.`,
      );
      continue;
    }
    const rates =
      minLbPerAcre === maxLbPerAcre
        ? `at ${formatNumber(maxLbPerAcre)} lb/ac throughout`
        : `at ${formatNumber(minLbPerAcre)} to ${formatNumber(maxLbPerAcre)} lb/ac by the ${name} map`;
    steps.push(
      `Order ${formatNumber(totalLb / 2000, 1)} tons of ${analysis} (${formatNumber(totalLb)} lb) and spread it ${rates}.`,
    );
  }
  const nitrogen = row.products.reduce((sum, line) => sum + (line.nutrient === "N" ? 0 : line.nitrogenLb), 0);
  if (nitrogen > 0) {
    steps.push(
      `Take ${formatNumber(nitrogen / model.acres)} lb of nitrogen per acre on average off the nitrogen plan: it comes with the product.`,
    );
  }
  steps.push("Load the rate file, and see on the controller that field, rates, units and total are as on this sheet.");
  steps.push("Keep the as-applied record and lay it beside these totals; 2 % apart is good.");
  if (certainty?.notes.some((note) => note.includes("assumed"))) {
    steps.push("Next time pull two bags from each of ten units: it shows how far cores and lab scatter on this field.");
  }
  if (money) {
    steps.push(`Sample again in ${formatNumber(money.samplingYears)} years, same season, same depth, same spots.`);
  }
  return steps;
}

function chosenRow({comparison, advice}: ReportModel): ComparisonRow {
  const wanted = advice?.strategy ?? comparison.baseline;
  return (comparison.rows.find(({strategy}) => strategy === wanted) ?? comparison.rows[0]) as ComparisonRow;
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
