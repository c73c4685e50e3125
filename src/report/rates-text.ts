import type {UnitValue} from "../lab/soil-test.ts";
import type {BuiltPrescription} from "../prescription/prescription.ts";
import type {LimeRecommendation} from "../recommend/lime/recommend-lime.ts";
import type {Recommendation, WorkingStep} from "../recommend/recommendation.ts";
import type {SamplingPlan} from "../sampling/plan.ts";
import {SQUARE_METRES_PER_ACRE} from "../units/factors.ts";
import {formatNumber, formatShort} from "../units/format.ts";
import type {Nutrient} from "../units/nutrient.ts";
import {STRATEGY_NAMES} from "./say-sure.ts";
import {type TextColumn, tableLines, wrapWords} from "./text-table.ts";

/** One strategy's rates. */
export interface RatesOf {
  readonly plan: SamplingPlan;
  /** Lab results by unit; of a pooled plan the means, as of the whole field. */
  readonly tests: ReadonlyMap<string, readonly UnitValue[]>;
  readonly recommendations: readonly Recommendation[];
  readonly lime: readonly LimeRecommendation[];
  readonly prescriptions: readonly Pick<BuiltPrescription, "product" | "spread">[];
}

/**
 * The rates of every unit, one table a strategy: acres, pH and CEC where they were measured, soil test, class and lb of
 * oxide an acre, tons of lime, and lb of each product an acre as it reaches the ground.
 */
export function ratesText(field: string, strategies: readonly RatesOf[], width = 100): string {
  const blocks = strategies.flatMap((one) => {
    const {plan, recommendations, lime, prescriptions} = one;
    const rows = rowsOf(one);
    const units = rows.map(({unit}) => unit);
    const nutrients = [...new Set(recommendations.map(({nutrient}) => nutrient))];
    const columns: TextColumn[] = [
      {head: ["unit"], align: "left", cells: units},
      {head: ["", "acres"], align: "right", cells: rows.map(({acres}) => formatNumber(acres, 1))},
      ...measuredColumn("pH", "", rows),
      ...measuredColumn("CEC", "meq/100 g", rows),
      ...nutrients.flatMap((nutrient) => nutrientColumns(nutrient, units, recommendations)),
      ...(lime.length > 0 ? [limeColumn(units, lime)] : []),
      ...prescriptions.map((prescription) => productColumn(prescription, rows)),
    ];
    return [[STRATEGY_NAMES[plan.strategy], "", ...tableLines(columns, width)].join("\n")];
  });
  const guides = [
    ...new Set(
      strategies.flatMap(({recommendations}) => recommendations.map(({guide}) => `${guide.title}, ${guide.edition}`)),
    ),
  ];
  return `${[field, ...blocks, ...guides.map((guide) => wrapWords(guide, width).join("\n"))].join("\n\n")}\n`;
}

interface Row {
  readonly unit: string;
  readonly acres: number;
  readonly tests: readonly UnitValue[];
  /** Units of the plan it speaks for. */
  readonly of: readonly string[];
}

/** Every unit of the plan, with a rate or without; the whole field for a pooled one. */
function rowsOf({plan, tests}: RatesOf): Row[] {
  const parts = plan.pooled
    ? [{unit: "whole field", of: plan.units}]
    : plan.units.map((unit) => ({unit: unit.id, of: [unit]}));
  return parts.map(({unit, of}) => ({
    unit,
    acres: of.reduce((sum, {area}) => sum + area, 0) / SQUARE_METRES_PER_ACRE,
    tests: tests.get(unit) ?? [],
    of: of.map(({id}) => id),
  }));
}

/** A test that rates hang on, where at least one unit has it. */
function measuredColumn(analyte: "pH" | "CEC", unit: string, rows: readonly Row[]): TextColumn[] {
  const found = rows.map(({tests}) => tests.find((test) => test.analyte === analyte)?.value);
  if (found.every((value) => value === undefined)) return [];
  const cells = found.map((value) => (value === undefined ? "—" : formatNumber(value, 1)));
  return [{head: unit === "" ? ["", analyte] : [analyte, unit], align: "right", cells}];
}

function productColumn({product, spread}: RatesOf["prescriptions"][number], rows: readonly Row[]): TextColumn {
  const cells = rows.map(({of}) => {
    // The one unit of a pooled plan has a name of its own in the machine's file.
    const parts = rows.length === 1 ? spread : spread.filter(({unit}) => of.includes(unit));
    const acres = parts.reduce((sum, part) => sum + part.acres, 0);
    const lb = parts.reduce((sum, part) => sum + part.meanLbPerAcre * part.acres, 0);
    return acres > 0 ? formatNumber(lb / acres, 0) : "—";
  });
  return {head: [product.analysis, "lb/ac"], align: "right", cells};
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
