import {FieldError} from "../errors.ts";
import {
  KG_PER_HA_PER_LB_PER_ACRE,
  KILOGRAMS_PER_POUND,
  METRES_PER_FOOT,
  METRES_PER_MILE,
  POUNDS_PER_SHORT_TON,
} from "../units/factors.ts";
import {lengthFactor} from "../units/parse.ts";

/** What a column of a log measures; each has one unit inside. */
export type Quantity =
  /** metres */
  | "length"
  /** kg/s */
  | "mass-flow"
  /** m/s */
  | "speed"
  /** percent */
  | "percent"
  /** t/ha */
  | "yield"
  /** seconds */
  | "time"
  /** degrees */
  | "angle"
  /** as it stands, no unit */
  | "number";

const T_PER_HA_PER_LB_PER_ACRE = KG_PER_HA_PER_LB_PER_ACRE / 1000;

const FACTORS = {
  length: {},
  "mass-flow": {
    "kg/s": 1,
    "lb/s": KILOGRAMS_PER_POUND,
    "lbs/s": KILOGRAMS_PER_POUND,
    "lb/sec": KILOGRAMS_PER_POUND,
    "t/h": 1000 / 3600,
  },
  speed: {
    "m/s": 1,
    "km/h": 1 / 3.6,
    kph: 1 / 3.6,
    mph: METRES_PER_MILE / 3600,
    "ft/s": METRES_PER_FOOT,
  },
  percent: {"%": 1, pct: 1, percent: 1, fraction: 100},
  yield: {
    "t/ha": 1,
    "mg/ha": 1,
    "kg/ha": 1 / 1000,
    "lb/ac": T_PER_HA_PER_LB_PER_ACRE,
    "lbs/ac": T_PER_HA_PER_LB_PER_ACRE,
    "lb/acre": T_PER_HA_PER_LB_PER_ACRE,
    "ton/ac": POUNDS_PER_SHORT_TON * T_PER_HA_PER_LB_PER_ACRE,
  },
  time: {s: 1, sec: 1, seconds: 1, ms: 0.001, min: 60, h: 3600},
  angle: {deg: 1, degrees: 1, "°": 1},
  number: {},
} as const satisfies Record<Quantity, Readonly<Record<string, number>>>;

/** What to write, for hints. */
const EXAMPLES: Readonly<Record<Quantity, string>> = {
  length: "m, ft, in, us-ft",
  "mass-flow": "lb/s, kg/s, t/h",
  speed: "mph, km/h, m/s, ft/s",
  percent: "%, fraction",
  yield: "bu/ac, lb/ac, t/ha, kg/ha, ton/ac",
  time: "s, ms, min, h, or y-m-d, m/d/y, d/m/y, h:m:s for dates and times",
  angle: "deg",
  number: "none",
};

/**
 * The factor from a column's unit to the unit inside.
 *
 * @param unit - As the user or the heading wrote it; undefined when neither did.
 * @param poundsPerBushel - Needed for bu/ac only: a bushel is a weight that differs by crop.
 * @throws {FieldError} `units/missing`, `units/unknown-unit`, `units/no-bushel-weight`.
 */
export function columnFactor(
  quantity: Quantity,
  unit: string | undefined,
  column: string,
  file: string,
  poundsPerBushel: number | undefined,
): number {
  if (quantity === "number") return 1;
  const place = {file, column};
  if (unit === undefined) {
    throw new FieldError("units/missing", `Column "${column}" of ${file} has no unit.`, {
      place,
      hint: `Name it in the job, as in {"column": "${column}", "unit": "..."}; it may be: ${EXAMPLES[quantity]}.`,
    });
  }
  const bare = unit.trim().toLowerCase().replace(/\s+/g, "").replace(/per/g, "/");
  if (quantity === "yield" && /^bu\/ac(re)?$/.test(bare)) {
    if (poundsPerBushel !== undefined) return poundsPerBushel * T_PER_HA_PER_LB_PER_ACRE;
    throw new FieldError("units/no-bushel-weight", `Column "${column}" of ${file} is in bushels of unknown weight.`, {
      place,
      hint: 'Give the weight of a bushel, as in "bushelWeight": "56 lb/bu".',
    });
  }
  const table: Readonly<Record<string, number>> = FACTORS[quantity];
  const factor = quantity === "length" ? lengthFactor(bare) : Object.hasOwn(table, bare) ? table[bare] : undefined;
  if (factor !== undefined) return factor;
  throw new FieldError("units/unknown-unit", `"${unit}" is not a unit for column "${column}" of ${file}.`, {
    place,
    hint: `It may be: ${EXAMPLES[quantity]}.`,
  });
}

/** The unit in brackets at the end of a heading: "Flow (lb/s)" gives "lb/s". */
export function unitInHeading(heading: string): string | undefined {
  return /[([]\s*([^()[\]]+?)\s*[)\]]\s*$/.exec(heading)?.[1];
}
