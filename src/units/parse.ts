import {FieldError} from "../errors.ts";
import {
  KG_PER_HA_PER_LB_PER_ACRE,
  KILOGRAMS_PER_POUND,
  METRES_PER_FOOT,
  METRES_PER_INCH,
  METRES_PER_MILE,
  METRES_PER_US_SURVEY_FOOT,
  POUNDS_PER_SHORT_TON,
  SQUARE_METRES_PER_ACRE,
  SQUARE_METRES_PER_HECTARE,
} from "./factors.ts";
import {type Metres, metres, type SquareMetres, squareMetres} from "./quantity.ts";

/** Unit spellings a person may write, with the factor to the unit used inside. */
const LENGTH = {
  m: 1,
  metre: 1,
  metres: 1,
  meter: 1,
  meters: 1,
  km: 1000,
  cm: 0.01,
  mm: 0.001,
  ft: METRES_PER_FOOT,
  feet: METRES_PER_FOOT,
  foot: METRES_PER_FOOT,
  "us-ft": METRES_PER_US_SURVEY_FOOT,
  in: METRES_PER_INCH,
  inch: METRES_PER_INCH,
  inches: METRES_PER_INCH,
  mi: METRES_PER_MILE,
} as const;

const AREA = {
  m2: 1,
  ha: SQUARE_METRES_PER_HECTARE,
  ac: SQUARE_METRES_PER_ACRE,
  acre: SQUARE_METRES_PER_ACRE,
  acres: SQUARE_METRES_PER_ACRE,
  ft2: METRES_PER_FOOT ** 2,
} as const;

/** Rates are kept in lb/ac in the US guides' files and converted at their edge, so both bases are offered. */
const RATE_LB_PER_ACRE = {
  "lb/ac": 1,
  "lb/acre": 1,
  "kg/ha": 1 / KG_PER_HA_PER_LB_PER_ACRE,
  "ton/ac": POUNDS_PER_SHORT_TON,
  "t/ha": 1000 / KG_PER_HA_PER_LB_PER_ACRE,
} as const;

const SPEED = {mph: METRES_PER_MILE / 3600, "km/h": 1 / 3.6, "m/s": 1} as const;

const SECONDS = {s: 1, sec: 1, min: 60} as const;

/** `"330 ft"` to metres. A bare number is refused: nobody can tell feet from metres. */
export function parseLength(text: string, what = "length"): Metres {
  return metres(parseWith(LENGTH, text, what, "30 ft"));
}

/** `"2.5 ac"` to square metres. */
export function parseArea(text: string, what = "area"): SquareMetres {
  return squareMetres(parseWith(AREA, text, what, "2.5 ac"));
}

/** `"40 lb/ac"` to lb/ac. */
export function parseRateLbPerAcre(text: string, what = "rate"): number {
  return parseWith(RATE_LB_PER_ACRE, text, what, "40 lb/ac");
}

/** `"15 mph"` to metres a second. */
export function parseSpeed(text: string, what = "speed"): number {
  return parseWith(SPEED, text, what, "15 mph");
}

/** `"12 s"` to seconds. */
export function parseSeconds(text: string, what = "time"): number {
  return parseWith(SECONDS, text, what, "12 s");
}

const YIELDS = {
  "bu/ac": "bu/ac",
  "bu/acre": "bu/ac",
  "ton/ac": "ton/ac",
  "tons/ac": "ton/ac",
  "ton/acre": "ton/ac",
} as const;

/** A yield a guide can be asked about: bushels of grain or short tons of forage an acre. */
export interface YieldGoal {
  readonly amount: number;
  readonly unit: "bu/ac" | "ton/ac";
}

/** `"195 bu/ac"` or `"5 ton/ac"`. Nothing is converted: which unit a crop has is for the guide to say. */
export function parseYieldGoal(text: string, what = "yield goal"): YieldGoal {
  const {value, unit} = splitQuantity(text, what, "195 bu/ac");
  const known = Object.hasOwn(YIELDS, unit.toLowerCase())
    ? YIELDS[unit.toLowerCase() as keyof typeof YIELDS]
    : undefined;
  if (known === undefined || value < 0) {
    throw new FieldError("units/unknown-unit", `"${text}" is not a ${what}.`, {
      hint: 'Write bushels or tons an acre, as in "195 bu/ac" or "5 ton/ac".',
    });
  }
  return {amount: value, unit: known};
}

/** `"56 lb/bu"` to pounds per bushel. */
export function parsePoundsPerBushel(text: string, what = "bushel weight"): number {
  return parseWith({"lb/bu": 1}, text, what, "56 lb/bu");
}

const MASS_KG = {
  kg: 1,
  t: 1000,
  lb: KILOGRAMS_PER_POUND,
  lbs: KILOGRAMS_PER_POUND,
  ton: POUNDS_PER_SHORT_TON * KILOGRAMS_PER_POUND,
} as const;

/** `"412000 lb"` to kilograms; a ton is the short one, a tonne is t. */
export function parseMassKg(text: string, what = "weight"): number {
  return parseWith(MASS_KG, text, what, "412000 lb");
}

/** Factor from a named length unit to metres, or undefined when the word is not one. */
export function lengthFactor(unit: string): number | undefined {
  return lookUp(LENGTH, unit.toLowerCase());
}

/**
 * A number and a word. `0.3 m` and `1e3 m` work, `12abc`, `1,5 m` and an empty text do not.
 *
 * @throws {FieldError} `units/not-a-quantity` for anything that is not one number and one unit,
 *   `units/unknown-unit` for a word that is not in the table.
 */
export function splitQuantity(text: string, what: string, example: string): {value: number; unit: string} {
  const match = /^\s*([-+]?(?:\d+\.?\d*|\.\d+)(?:e[-+]?\d+)?)\s*([a-z$][a-z0-9/$%.-]*)\s*$/i.exec(text);
  if (!match) {
    throw new FieldError("units/not-a-quantity", `"${text}" is not a ${what} with a unit.`, {
      hint: `Write a number and its unit, as in "${example}".`,
    });
  }
  return {value: Number(match[1]), unit: match[2] as string};
}

function parseWith(table: Readonly<Record<string, number>>, text: string, what: string, example: string): number {
  const {value, unit} = splitQuantity(text, what, example);
  const factor = lookUp(table, unit.toLowerCase());
  if (factor === undefined) {
    throw new FieldError("units/unknown-unit", `"${unit}" is not a unit for a ${what} (in "${text}").`, {
      hint: `Use one of: ${Object.keys(table).join(", ")}.`,
    });
  }
  return value * factor;
}

function lookUp(table: Readonly<Record<string, number>>, key: string): number | undefined {
  return Object.hasOwn(table, key) ? table[key] : undefined;
}
