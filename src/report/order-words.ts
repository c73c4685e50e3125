import type {ComparisonRow} from "../compare/comparison.ts";
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
  return ratedRows(model).map((one) => {
    const [first = "", ...rest] = orderOf(model, one);
    const text = first.charAt(0).toLowerCase() + first.slice(1);
    return `${IF_SPREAD[one.strategy]}: ${[text, ...rest].join(" ")}`;
  });
}

function orderOf({acres, certainty}: ReportModel, {strategy, products}: ComparisonRow): string[] {
  const nitrogen = products.reduce((sum, line) => sum + (line.nutrient === "N" ? 0 : line.nitrogenLb), 0);
  return [
    ...products.map(({analysis, nutrient, totalLb, minLbPerAcre, maxLbPerAcre}) => {
      if (totalLb === 0) {
        const most = certainTotal(certainty, strategy, analysis, nutrient)?.totalLbInterval.high ?? 0;
        return most > 0
          ? `No ${analysis} is called for, but the test stands at the guide's limit: another day's cores could call for up to ${formatNumber(most)} lb. Sample again before you rely on it.`
          : `No ${analysis} is called for.`;
      }
      const rates =
        minLbPerAcre === maxLbPerAcre
          ? `at ${formatNumber(maxLbPerAcre)} lb/ac throughout`
          : `at ${formatNumber(minLbPerAcre)} to ${formatNumber(maxLbPerAcre)} lb/ac by the ${STRATEGY_NAMES[strategy].toLowerCase()} map`;
      return `Order ${formatNumber(totalLb / 2000, 1)} tons of ${analysis} (${formatNumber(totalLb)} lb) and spread it ${rates}.`;
    }),
    ...(nitrogen > 0
      ? [
          `Take ${formatNumber(nitrogen / acres)} lb of nitrogen per acre on average off the nitrogen plan: it comes with the product.`,
        ]
      : []),
  ];
}
