import {signal} from "@preact/signals";
import {type Amount, formatNumber, formatShort, inSystem, type UnitSystem} from "../../src/units/format.ts";

/** How the user likes to read amounts; a preference kept in the book. */
export const unitSystem = signal<UnitSystem>("us");

/** An amount ready to be set: figures, and the unit beside them or in the head over them. */
export interface Shown {
  readonly text: string;
  readonly unit: string;
}

interface HowShown {
  /** By default as many as the shown unit is usually given with. */
  readonly decimals?: number | undefined;
  /** Zeros after the point fall away. */
  readonly short?: boolean | undefined;
  /** Needed for "bu/ac" and "t/ha" of grain; without it bushels stay bushels. */
  readonly crop?: string | undefined;
  /** In place of the user's choice. */
  readonly system?: UnitSystem | undefined;
}

/**
 * An amount as the server gives it, in the user's units: `shown(124, "lb/ac")` is 124 lb/ac, or 139 kg/ha.
 *
 * @param unit - As written: ac, lb/ac, lb, ton, ton/ac, ft, mi, in, mph, gal, gal/ac, $/ac, $/lb, $/ton, bu/ac, or the
 *   metric ones the server uses (m, m2, t/ha). Any other is shown as it is.
 */
export function shown(value: number, unit: string, how: HowShown = {}): Shown {
  const amount = amountIn(value, unit, how);
  const decimals = how.decimals ?? DECIMALS[amount.unit];
  const short = how.short ?? decimals === undefined;
  return {text: (short ? formatShort : formatNumber)(amount.value, decimals ?? 2), unit: wordFor(amount.unit)};
}

/** The same in one piece: "62.2 ha". */
export function say(value: number, unit: string, how: HowShown = {}): string {
  const {text, unit: of} = shown(value, unit, how);
  return of === "" || of === "°" ? text + of : `${text} ${of}`;
}

/** The figures alone, for a table or map that has the unit in its head. */
export const figures = (value: number, unit: string, how: HowShown = {}): string => shown(value, unit, how).text;

/** The unit that amounts of this one are shown in, for the head of a table or a legend. */
export const unitOf = (unit: string, how: HowShown = {}): string => wordFor(amountIn(1, unit, how).unit);

/** The bare number and its unit, for scales and bars. */
export function amountIn(value: number, unit: string, {crop, system}: HowShown = {}): Amount {
  return inSystem(value, unit, system ?? unitSystem.value, crop);
}

/** A sum of pounds as a person says it: from ten tonnes on in tonnes. For sentences; tables keep one unit. */
export function sayMass(lb: number): string {
  const kg = amountIn(lb, "lb");
  return kg.unit === "kg" && Math.abs(kg.value) >= 10_000 ? `${formatNumber(kg.value / 1000, 1)} t` : say(lb, "lb");
}

/** Money by the acre or hectare, and by weight. */
export const sayDollars = (dollars: number, unit: "$" | "$/ac" | "$/lb" | "$/ton", decimals?: number): string => {
  const {text, unit: of} = shown(dollars, unit, {decimals});
  return of === "$" ? `$${text}` : `$${text}${of.slice(1)}`;
};

/** A quantity in words, as a setting's usual value: "2.5 ac" becomes "1.01 ha". Anything else stays as it is. */
export function quantityShown(text: string): string {
  const found = /^(\d+(?:\.\d+)?) (\S+)$/.exec(text);
  if (!found) return text;
  const [, value = "", unit = ""] = found;
  const {value: number, unit: of} = amountIn(Number(value), unit);
  return of === unit ? text : `${formatShort(number, number < 10 ? 2 : number < 100 ? 1 : 0).replace(",", "")} ${of}`;
}

/**
 * A sentence of the server's with the metric amount beside each US one, for who reads metric: "within 30 ft (9 m)".
 * The sentence itself stays as it is: a guide's own numbers are not rewritten.
 */
export function besideIt(sentence: string): string {
  if (unitSystem.value === "us") return sentence;
  return sentence.replace(AMOUNTS, (whole, dollar: string, numbers: string, unit: string) => {
    if ((dollar === "$") !== (unit[0] === "/")) return whole;
    const from = dollar + unit;
    const there = numbers.replace(NUMBER, (number) => {
      const decimals = (number.split(".")[1] ?? "").length;
      return figures(Number(number.replaceAll(",", "")), from, {
        decimals: Math.max(decimals, DECIMALS[unitOf(from)] ?? 0),
      });
    });
    return `${whole} (${dollar}${there}${dollar === "$" ? unitOf(from).slice(1) : ` ${unitOf(from)}`})`;
  });
}

const NUMBER = /\d[\d,]*(?:\.\d+)?/g;
/** One or several numbers with one unit behind them, a price with its unit; not where the metric amount stands already. */
const AMOUNTS =
  /(\$?)((?:\d[\d,]*(?:\.\d+)?)(?:(?: to |–| and | or | of )\d[\d,]*(?:\.\d+)?)*)(?: (?=[a-z])|(?=\/))(ac|lb\/ac|lb|ft|mi|ton\/ac|gal\/ac|\/ac|\/lb|\/ton)(?![\w/]| \()/g;

/** Units that are said in another way than they are kept. */
const wordFor = (unit: string): string => (unit === "deg" ? "°" : unit === "1" || unit === "class" ? "" : unit);

/** Digits after the point, by the unit shown; a unit that is not named has two at most. */
const DECIMALS: Readonly<Record<string, number>> = {
  ac: 1,
  ha: 1,
  "lb/ac": 0,
  "kg/ha": 0,
  lb: 0,
  kg: 0,
  ton: 1,
  t: 1,
  "ton/ac": 1,
  "t/ha": 1,
  "bu/ac": 0,
  ft: 0,
  m: 0,
  ft2: 0,
  m2: 0,
  in: 0,
  cm: 0,
  mi: 1,
  km: 1,
  gal: 0,
  L: 0,
  "gal/ac": 1,
  "L/ha": 0,
  $: 0,
  "$/ac": 2,
  "$/ha": 2,
  "$/lb": 2,
  "$/kg": 2,
  "$/ton": 0,
  "$/t": 0,
};
