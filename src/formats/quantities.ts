import {FieldError} from "../errors.ts";
import {
  KG_PER_HA_PER_LB_PER_ACRE,
  KILOGRAMS_PER_POUND,
  METRES_PER_FOOT,
  METRES_PER_INCH,
  METRES_PER_MILE,
} from "../units/factors.ts";

/** What a column measures. */
export type Quantity = "length" | "time" | "mass flow" | "mass" | "speed" | "percent" | "yield" | "number";

/** Factors to metres, seconds, kg/s, kg, m/s, percent and t/ha, by the spellings found in headings. */
const FACTORS: Readonly<Record<Exclude<Quantity, "number">, Readonly<Record<string, number>>>> = {
  length: {
    m: 1,
    metres: 1,
    meters: 1,
    cm: 0.01,
    mm: 0.001,
    ft: METRES_PER_FOOT,
    feet: METRES_PER_FOOT,
    in: METRES_PER_INCH,
    inches: METRES_PER_INCH,
  },
  time: {s: 1, sec: 1, seconds: 1, ms: 0.001, min: 60},
  "mass flow": {"kg/s": 1, "lb/s": KILOGRAMS_PER_POUND, "lbs/s": KILOGRAMS_PER_POUND, "t/h": 1000 / 3600},
  mass: {kg: 1, lb: KILOGRAMS_PER_POUND, lbs: KILOGRAMS_PER_POUND},
  speed: {"m/s": 1, "km/h": 1 / 3.6, kph: 1 / 3.6, mph: METRES_PER_MILE / 3600, "ft/s": METRES_PER_FOOT},
  percent: {"%": 1, pct: 1, percent: 1},
  yield: {
    "t/ha": 1,
    "kg/ha": 0.001,
    "g/m2": 0.01,
    "lb/ac": KG_PER_HA_PER_LB_PER_ACRE / 1000,
    // Times the pounds in a bushel.
    "bu/ac": KG_PER_HA_PER_LB_PER_ACRE / 1000,
  },
};

/**
 * The factor from a column's unit to the unit used inside.
 *
 * @throws {FieldError} `points/no-unit`, `points/unknown-unit` with the units that make sense, `points/no-bushel`.
 */
export function toSi(
  quantity: Quantity,
  unit: string | undefined,
  at: {readonly file: string; readonly column: string; readonly bushelPounds?: number | undefined},
): number {
  if (quantity === "number") return 1;
  const place = {file: at.file, column: at.column};
  const table = FACTORS[quantity];
  const known = Object.keys(table).join(", ");
  if (unit === undefined) {
    throw new FieldError("points/no-unit", `Column "${at.column}" of ${at.file} has no unit for a ${quantity}.`, {
      place,
      hint: `Name it in the job, as in {"column": "${at.column}", "unit": "…"}: one of ${known}.`,
    });
  }
  const key = unit.trim().toLowerCase().replace("²", "2");
  if (!Object.hasOwn(table, key)) {
    throw new FieldError("points/unknown-unit", `"${unit}" (column "${at.column}") is not a unit for a ${quantity}.`, {
      place,
      hint: `Use one of: ${known}.`,
    });
  }
  if (key !== "bu/ac") return table[key] as number;
  if (at.bushelPounds === undefined) {
    throw new FieldError("points/no-bushel", `Column "${at.column}" is in bushels of unknown weight.`, {
      place,
      hint: 'Give "bushelWeight" in the job, as in "56 lb/bu".',
    });
  }
  return (table[key] as number) * at.bushelPounds;
}
