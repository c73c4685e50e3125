import type {ComparisonRow, ProductLine} from "../compare/comparison.ts";
import type {Strategy} from "../sampling/plan.ts";
import {formatNumber} from "../units/format.ts";
import type {ReportModel} from "./report-model.ts";
import {certainTotal, STRATEGY_NAMES} from "./say-sure.ts";

const IF_SPREAD = {
  "whole-field": "If you spread the whole field as one",
  grid: "If you spread by the grid map",
  zone: "If you spread by the zones' map",
} as const;

/** The strategies with rates, in the order of the ledger. */
export function ratedRows({comparison}: Pick<ReportModel, "comparison">): ComparisonRow[] {
  return comparison.rows.filter(({products}) => products.length > 0);
}

/** The strategy that is spread, where it is known. */
export function spreadRow(model: ReportModel): ComparisonRow | undefined {
  return ratedRows(model).find(({strategy}) => strategy === model.spread);
}

/** Who chose what is spread, and whether the advice was another. Nothing without rates. */
export function sayChoice(model: ReportModel): string {
  const rated = ratedRows(model);
  const row = spreadRow(model);
  const advised = model.advice?.strategy && STRATEGY_NAMES[model.advice.strategy].toLowerCase();
  if (rated.length === 0) return "";
  if (!row) return `No strategy is chosen to spread yet${advised ? `; the advice is ${advised}` : ""}.`;
  const name = STRATEGY_NAMES[row.strategy];
  if (rated.length === 1) return `${name}: no other strategy has rates.`;
  const chose = `You chose ${name.toLowerCase()}`;
  if (advised === undefined)
    return model.advice ? `${chose}; the figures do not decide for any strategy.` : `${chose}.`;
  return row.strategy === model.advice?.strategy ? `${chose}, as advised.` : `${chose}; the advice was ${advised}.`;
}

/** The order of the strategy that is spread, a sentence each; until one is chosen, that of every strategy. */
export function orders(model: ReportModel): string[] {
  const row = spreadRow(model);
  if (row) return orderOf(model, row);
  return ratedRows(model).map((one) => `${IF_SPREAD[one.strategy]}: ${shortOrder(model, one)}.`);
}

/** One strategy's order in a line, to stand beside those of the others. */
function shortOrder(model: ReportModel, {strategy, products}: ComparisonRow): string {
  const nitrogen = nitrogenOf(model, products);
  return [
    ...products.map((line) => {
      const {analysis, totalLb} = line;
      if (totalLb > 0) return `${tonsOf(line)} at ${ratesOf(line)} lb/ac`;
      const most = couldBe(model, strategy, line);
      return `no ${analysis}${most > 0 ? `, though another day's cores could call for up to ${formatNumber(most)} lb` : ""}`;
    }),
    ...(nitrogen > 0 ? [`${formatNumber(nitrogen)} lb/ac off the nitrogen plan`] : []),
  ].join("; ");
}

function orderOf(model: ReportModel, {strategy, products}: ComparisonRow): string[] {
  const nitrogen = nitrogenOf(model, products);
  return [
    ...products.map((line) => {
      const {analysis, totalLb, minLbPerAcre, maxLbPerAcre} = line;
      if (totalLb === 0) {
        const most = couldBe(model, strategy, line);
        return most > 0
          ? `No ${analysis} is called for, but the test stands at the guide's limit: another day's cores could call for up to ${formatNumber(most)} lb. Sample again before you rely on it.`
          : `No ${analysis} is called for.`;
      }
      const how = minLbPerAcre === maxLbPerAcre ? "throughout" : `by the ${STRATEGY_NAMES[strategy].toLowerCase()} map`;
      return `Order ${tonsOf(line)} and spread it at ${ratesOf(line)} lb/ac ${how}.`;
    }),
    ...(nitrogen > 0
      ? [
          `Take ${formatNumber(nitrogen)} lb of nitrogen per acre on average off the nitrogen plan: it comes with the product.`,
        ]
      : []),
  ];
}

function tonsOf({analysis, totalLb}: ProductLine): string {
  return `${formatNumber(totalLb / 2000, 1)} tons of ${analysis} (${formatNumber(totalLb)} lb)`;
}

function ratesOf({minLbPerAcre, maxLbPerAcre}: ProductLine): string {
  const most = formatNumber(maxLbPerAcre);
  return minLbPerAcre === maxLbPerAcre ? most : `${formatNumber(minLbPerAcre)} to ${most}`;
}

/** The most that other cores could call for, lb over the field. */
function couldBe({certainty}: ReportModel, strategy: Strategy, {analysis, nutrient}: ProductLine): number {
  return certainTotal(certainty, strategy, analysis, nutrient)?.totalLbInterval.high ?? 0;
}

/** What comes along with products bought for something else, lb/ac. */
function nitrogenOf({acres}: ReportModel, products: readonly ProductLine[]): number {
  return products.reduce((sum, line) => sum + (line.nutrient === "N" ? 0 : line.nitrogenLb), 0) / acres;
}
