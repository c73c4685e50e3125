import type {LimeRecommendation} from "../recommend/lime/recommend-lime.ts";
import type {Recommendation, WorkingStep} from "../recommend/recommendation.ts";
import type {Strategy} from "../sampling/plan.ts";
import {formatNumber, formatShort} from "../units/format.ts";
import type {Nutrient} from "../units/nutrient.ts";
import {STRATEGY_NAMES} from "./say-sure.ts";
import {type TextColumn, tableLines, wrapWords} from "./text-table.ts";

/** One strategy's rates. */
export interface RatesOf {
  readonly strategy: Strategy;
  readonly recommendations: readonly Recommendation[];
  readonly lime: readonly LimeRecommendation[];
}

/** The rates of every unit, one table a strategy: soil test, class and lb of oxide an acre, and tons of lime. */
export function ratesText(field: string, strategies: readonly RatesOf[], width = 100): string {
  const blocks = strategies.flatMap(({strategy, recommendations, lime}) => {
    const units = [...new Set([...recommendations, ...lime].map(({unit}) => unit))];
    const nutrients = [...new Set(recommendations.map(({nutrient}) => nutrient))];
    const columns: TextColumn[] = [
      {head: ["unit"], align: "left", cells: units},
      ...nutrients.flatMap((nutrient) => nutrientColumns(nutrient, units, recommendations)),
      ...(lime.length > 0 ? [limeColumn(units, lime)] : []),
    ];
    return [[STRATEGY_NAMES[strategy], "", ...tableLines(columns, width)].join("\n")];
  });
  const guides = [
    ...new Set(
      strategies.flatMap(({recommendations}) => recommendations.map(({guide}) => `${guide.title}, ${guide.edition}`)),
    ),
  ];
  return `${[field, ...blocks, ...guides.map((guide) => wrapWords(guide, width).join("\n"))].join("\n\n")}\n`;
}

function nutrientColumns(
  nutrient: Nutrient,
  units: readonly string[],
  recommendations: readonly Recommendation[],
): TextColumn[] {
  const of = (unit: string) => recommendations.find((one) => one.unit === unit && one.nutrient === nutrient);
  const cells = (text: (found: Recommendation) => string): string[] =>
    units.map((unit) => {
      const found = of(unit);
      return found ? text(found) : "—";
    });
  const unit = recommendations.find((one) => one.nutrient === nutrient)?.test.unit ?? "";
  const element = nutrient === "P2O5" ? "P" : "K";
  return [
    {head: ["soil test", `${element} ${unit}`], align: "right", cells: cells(({test}) => formatShort(test.value, 1))},
    {head: ["", "class"], align: "left", cells: cells(({testClass}) => testClass)},
    {head: [nutrient, "lb/ac"], align: "right", cells: cells(({rateLbPerAcre}) => formatNumber(rateLbPerAcre, 1))},
  ];
}

function limeColumn(units: readonly string[], lime: readonly LimeRecommendation[]): TextColumn {
  return {
    head: ["lime", "ton/ac"],
    align: "right",
    cells: units.map((unit) => {
      const found = lime.find((one) => one.unit === unit);
      return found ? formatNumber(found.tonPerAcre, 1) : "—";
    }),
  };
}

/** How a unit's lime came about, step by step. */
export function limeWorkingText({unit, tonPerAcre, material, method, working}: LimeRecommendation, width = 80): string {
  const line = ({text, value, unit: measure, source, basis}: WorkingStep, i: number): string[] => [
    ...wrapWords(`${i + 1}  ${text}: ${formatShort(value, 2)} ${measure}`, width),
    `     ${source}${basis === "from memory" ? "; from memory, check against the bulletin" : ""}`,
  ];
  const lines = [
    `${unit}, lime`,
    method.title,
    "",
    ...working.flatMap(line),
    "─".repeat(width),
    `${formatNumber(tonPerAcre, 2)} ton/ac of ${material}`,
  ];
  return `${lines.join("\n")}\n`;
}
