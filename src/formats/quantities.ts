import {FieldError} from "../errors.ts";
import {
  KG_PER_HA_PER_LB_PER_ACRE,
  KILOGRAMS_PER_POUND,
  METRES_PER_FOOT,
  METRES_PER_MILE,
  POUNDS_PER_SHORT_TON,
} from "../units/factors.ts";
import {lengthFactor} from "../units/parse.ts";

/** What a column of a log measures; a plain number has no unit. */
export type Quantity = "length" | "time" | "mass flow" | "mass" | "speed" | "percent" | "yield" | "angle" | "number";

const T_PER_HA_PER_LB_PER_ACRE = KG_PER_HA_PER_LB_PER_ACRE / 1000;
/** Bushels differ by crop: the factor is times the pounds in one. */
const BUSHELS = ["bu/ac", "bu/acre"];

/** Factors to metres, seconds, kg/s, kg, m/s, percent, t/ha and degrees, by the spellings found in headings. */
const FACTORS: Readonly<Record<Exclude<Quantity, "number" | "length">, Readonly<Record<string, number>>>> = {
  time: {s: 1, sec: 1, seconds: 1, ms: 0.001, min: 60, h: 3600},
  "mass flow": {
    "kg/s": 1,
    "lb/s": KILOGRAMS_PER_POUND,
    "lbs/s": KILOGRAMS_PER_POUND,
    "lb/sec": KILOGRAMS_PER_POUND,
    "t/h": 1000 / 3600,
  },
  mass: {kg: 1, lb: KILOGRAMS_PER_POUND, lbs: KILOGRAMS_PER_POUND},
  speed: {"m/s": 1, "km/h": 1 / 3.6, kph: 1 / 3.6, mph: METRES_PER_MILE / 3600, "ft/s": METRES_PER_FOOT},
  percent: {"%": 1, pct: 1, percent: 1, fraction: 100},
  yield: {
    "t/ha": 1,
    "mg/ha": 1, // megagrams
    "kg/ha": 0.001,
    "g/m2": 0.01,
    "lb/ac": T_PER_HA_PER_LB_PER_ACRE,
    "lbs/ac": T_PER_HA_PER_LB_PER_ACRE,
    "lb/acre": T_PER_HA_PER_LB_PER_ACRE,
    "ton/ac": POUNDS_PER_SHORT_TON * T_PER_HA_PER_LB_PER_ACRE,
    "bu/ac": T_PER_HA_PER_LB_PER_ACRE,
    "bu/acre": T_PER_HA_PER_LB_PER_ACRE,
  },
  angle: {deg: 1, degrees: 1, "°": 1},
};

const CLOCKS = "; or y-m-d, m/d/y, d/m/y, h:m:s for dates and times";

/**
 * The factor from a column's unit to the unit used inside.
 *
 * @param unit - As the user or the heading wrote it; undefined when neither did.
 * @throws {FieldError} `points/no-unit`, `points/unknown-unit` with the units that make sense, `points/no-bushel`.
 */
export function toSi(
  quantity: Quantity,
  unit: string | undefined,
  at: {readonly file: string; readonly column: string; readonly bushelPounds?: number | undefined},
): number {
  if (quantity === "number") return 1;
  const place = {file: at.file, column: at.column};
  const table = quantity === "length" ? {} : FACTORS[quantity];
  const known =
    quantity === "length"
      ? "m, cm, ft, us-ft, in"
      : Object.keys(table).join(", ") + (quantity === "time" ? CLOCKS : "");
  if (unit === undefined) {
    throw new FieldError("points/no-unit", `Column "${at.column}" of ${at.file} has no unit for ${named(quantity)}.`, {
      place,
      hint: `Name it in the job, as in {"column": "${at.column}", "unit": "..."}: one of ${known}.`,
    });
  }
  const key = keyOf(unit);
  const factor = factorOf(quantity, key);
  if (factor === undefined) {
    throw new FieldError(
      "points/unknown-unit",
      `"${unit}" (column "${at.column}" of ${at.file}) is not a unit for ${named(quantity)}.`,
      {place, hint: `Use one of: ${known}.`},
    );
  }
  if (quantity !== "yield" || !BUSHELS.includes(key)) return factor;
  if (at.bushelPounds === undefined) {
    throw new FieldError("points/no-bushel", `Column "${at.column}" of ${at.file} is in bushels of unknown weight.`, {
      place,
      hint: 'Give "bushelWeight" in the job, as in "56 lb/bu".',
    });
  }
  return factor * at.bushelPounds;
}

/** Whether a unit is one for a quantity, as `toSi` takes it. */
export function isUnitOf(quantity: Quantity, unit: string): boolean {
  return quantity !== "number" && factorOf(quantity, keyOf(unit)) !== undefined;
}

function keyOf(unit: string): string {
  return unit.trim().toLowerCase().replace(/\s+/g, "").replace("²", "2");
}

function factorOf(quantity: Exclude<Quantity, "number">, key: string): number | undefined {
  if (quantity === "length") return lengthFactor(key);
  const table = FACTORS[quantity];
  return Object.hasOwn(table, key) ? table[key] : undefined;
}

function named(quantity: Quantity): string {
  return quantity === "percent" ? "a percentage" : quantity === "angle" ? "an angle" : `a ${quantity}`;
}

/** The unit in brackets at the end of a heading: `"Flow (lb/s)"` says lb/s. */
export function unitInHeading(heading: string): string | undefined {
  return /[([]\s*([^()[\]]+?)\s*[)\]]\s*$/.exec(heading)?.[1];
}
