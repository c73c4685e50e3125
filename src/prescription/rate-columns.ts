import type {Issue} from "../errors.ts";
import type {Properties} from "../geo/features.ts";
import {KG_PER_HA_PER_LB_PER_ACRE, SQUARE_METRES_PER_ACRE} from "../units/factors.ts";
import {formatNumber, formatShort} from "../units/format.ts";
import {many} from "./count-words.ts";
import {guessRateUnit, MOST_USUAL_LB_PER_ACRE, type UnitGuess} from "./guess-rate-unit.ts";

/** One numeric column of a rate file, in whatever unit it is. */
export interface RateColumn {
  readonly name: string;
  /** Records with a number, and without one. */
  readonly count: number;
  readonly nulls: number;
  readonly distinct: number;
  readonly min: number;
  /** Weighted by area. */
  readonly mean: number;
  readonly max: number;
  /** Sum of acres × value: lb when the column is in lb/ac. */
  readonly total: number;
  /** As the format or the column's name says it. */
  readonly unit?: string;
  /** Its name or its content speaks for a rate rather than an id or a size. */
  readonly mayBeRate: boolean;
  /** Units that would make sense of it, when lb/ac does not. */
  readonly guesses: readonly UnitGuess[];
}

const RATE_NAME = /rate|lb|kg|target|dose|amount|appl|gal.?ac|(^|[^a-z])t(on)?s?[^a-z]?(ac|ha)$|seeds/i;
const NO_RATE_NAME =
  /^(id|fid|oid|objectid|zone|zone_?id|unit|cell|poly.*|area.*|acres?|ha|hectares?|sq_?m|perim.*|length|shape_.*|lon.*|lat.*|x|y|row|col|count|year)$/i;

/**
 * Columns in which every value is a number or missing, in the order of their first appearance.
 *
 * @param units - Of columns whose unit the format itself fixes: no guess is made about those.
 */
export function rateColumns(
  records: readonly Properties[],
  areasM2: readonly number[],
  units: ReadonlyMap<string, string> = new Map(),
): RateColumn[] {
  const names = new Set(records.flatMap((record) => Object.keys(record)));
  const columns = [...names].flatMap((name) => {
    const column = columnOf(name, records, areasM2, units.get(name));
    return column ? [column] : [];
  });
  const anyNamed = columns.some((column) => RATE_NAME.test(column.name));
  return columns.map((column) => ({
    ...column,
    mayBeRate: anyNamed ? RATE_NAME.test(column.name) : !NO_RATE_NAME.test(column.name),
  }));
}

/** Missing and negative rates, and sizes that point to another unit. */
export function columnIssues(column: RateColumn): Issue[] {
  if (!column.mayBeRate) return [];
  const issues: Issue[] = [];
  const place = {column: column.name};
  if (column.nulls > 0) {
    issues.push({
      code: "prescription/rate-missing",
      severity: "error",
      message: `Column ${column.name} has no rate in ${many(column.nulls, "polygon")}.`,
      place,
      hint: "Give every polygon a rate; write 0 where nothing is to be spread.",
    });
  }
  if (column.min < 0) {
    issues.push({
      code: "prescription/rate-negative",
      severity: "error",
      message: `Column ${column.name} goes down to ${formatShort(column.min)}: a rate cannot be below zero.`,
      place,
      hint: "Check whether this stands for no data.",
    });
  }
  const [likely, ...others] = column.guesses;
  if (likely) {
    const inPounds = (guess: UnitGuess): string => `${guess.unit} (${formatShort(guess.meanLbPerAcre, 1)} lb/ac)`;
    const large = column.max > MOST_USUAL_LB_PER_ACRE;
    const also = others.length > 0 ? `, or ${others.map(inPounds).join(", ")}` : "";
    issues.push({
      code: "prescription/rate-unit",
      severity: "warning",
      message:
        `Column ${column.name} has a mean of ${formatShort(column.mean)}: too ${large ? "much" : "little"} for ${column.unit ?? "lb/ac"}; ` +
        `it looks like ${inPounds(likely)}${also}.`,
      place,
      hint: `Ask the sender for the unit${large ? "; lime in lb/ac can be this high" : ""}.`,
    });
  } else if (column.max > mostUsual(column)) {
    issues.push({
      code: "prescription/rate-unit",
      severity: "warning",
      message: `Column ${column.name} reaches ${formatNumber(column.max)}, far above ${formatNumber(mostUsual(column))} ${column.unit ?? "lb/ac"}.`,
      place,
      hint: "Ask the sender for the unit.",
    });
  }
  return issues;
}

/** Above these, rates are doubtful. Common practice, no source; lime apart, as for lb/ac. */
const MOST_USUAL: Readonly<Record<string, number>> = {
  "kg/ha": MOST_USUAL_LB_PER_ACRE * KG_PER_HA_PER_LB_PER_ACRE,
  "ton/ac": 15,
  "t/ha": 35,
  "gal/ac": 300,
  "L/ha": 3000,
  "seeds/ac": 1_000_000,
  "mg/m²": 2e5 * KG_PER_HA_PER_LB_PER_ACRE,
};

/** Six tons, a heavy dressing. */
const MOST_LIME_LB_PER_ACRE = 12_000;
const isLime = (name: string): boolean => /lime/i.test(name);

function mostUsual({name, unit}: RateColumn): number {
  if (isLime(name) && (unit === undefined || unit === "lb/ac")) return MOST_LIME_LB_PER_ACRE;
  return MOST_USUAL[unit ?? ""] ?? MOST_USUAL_LB_PER_ACRE;
}

/** What headings say of their unit: "MAP_LBAC", "Rate (kg/ha)", "TON_AC". */
const UNIT_WORDS: readonly (readonly [RegExp, string])[] = [
  [/lbs?.{0,5}ac|pounds?.{0,5}ac/i, "lb/ac"],
  [/kg.{0,5}ha/i, "kg/ha"],
  [/mg.{0,5}m(2|²)/i, "mg/m²"],
  [/gal.{0,7}ac|(^|[^a-z])gpa($|[^a-z])/i, "gal/ac"],
  [/(^|[^a-z])tons?.{0,5}ac/i, "ton/ac"],
  [/(^|[^a-z])t(onnes?)?[^a-z]{0,2}ha($|[^a-z])/i, "t/ha"],
  [/(^|[^a-z])l(it(er|re)s?)?[^a-z]{0,2}ha($|[^a-z])/i, "L/ha"],
];

/** The unit a heading names, undefined when it names none. */
export function unitOfName(name: string): string | undefined {
  return UNIT_WORDS.find(([words]) => words.test(name))?.[1];
}

function columnOf(
  name: string,
  records: readonly Properties[],
  areasM2: readonly number[],
  known: string | undefined,
): RateColumn | undefined {
  const values = records.map((record) => numberIn(Object.hasOwn(record, name) ? record[name] : null));
  if (values.includes("text")) return undefined;
  let acres = 0;
  let total = 0;
  const numbers: number[] = [];
  values.forEach((value, i) => {
    if (typeof value !== "number") return;
    const share = (areasM2[i] as number) / SQUARE_METRES_PER_ACRE;
    numbers.push(value);
    acres += share;
    total += share * value;
  });
  if (numbers.length === 0) return undefined;
  const mean = acres > 0 ? total / acres : 0;
  const unit = known ?? unitOfName(name);
  const max = numbers.reduce((a, b) => Math.max(a, b));
  const byWeight = unit === undefined || unit === "lb/ac" || unit === "kg/ha";
  // Under a heading that says lime, tons of pounds are what they seem.
  const asLime = isLime(name) && max > MOST_USUAL_LB_PER_ACRE && max <= MOST_LIME_LB_PER_ACRE;
  return {
    name,
    count: numbers.length,
    nulls: values.length - numbers.length,
    distinct: new Set(numbers).size,
    min: numbers.reduce((a, b) => Math.min(a, b)),
    mean,
    max,
    total,
    mayBeRate: false,
    ...(unit !== undefined && {unit}),
    guesses: known === undefined && byWeight && !asLime ? guessRateUnit(numbers, mean) : [],
  };
}

/** Numbers may come as text from formats without types; `"12abc"` and `""` are not numbers. */
function numberIn(value: string | number | boolean | null | undefined): number | "text" | undefined {
  if (value === null || value === undefined || value === "") return undefined;
  if (typeof value === "number") return Number.isFinite(value) ? value : undefined;
  if (typeof value === "string" && /^\s*[-+]?(?:\d+\.?\d*|\.\d+)(?:e[-+]?\d+)?\s*$/i.test(value)) return Number(value);
  return "text";
}
