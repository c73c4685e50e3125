import {FieldError} from "../../errors.ts";
import {
  KG_PER_HA_PER_LB_PER_ACRE,
  POUNDS_PER_SHORT_TON,
  SQUARE_METRES_PER_ACRE,
  SQUARE_METRES_PER_HECTARE,
} from "../../units/factors.ts";
import {formatShort, roundHalfAway} from "../../units/format.ts";

/** What one data dictionary identifier (DDI) measures. A file holds whole numbers; `raw / perUnit` is in `unit`. */
export interface DataItem {
  readonly ddi: number;
  readonly name: string;
  readonly unit: string;
  readonly perUnit: number;
}

export type RateKind = "mass" | "volume" | "count";

/** How a terminal shows a raw number: `(raw + offset) * scale`. It never changes what the number means. */
export interface Presentation {
  readonly offset: number;
  readonly scale: number;
  readonly decimals: number;
  readonly unit: string;
}

/**
 * Identifiers met in rate maps and machine logs. Names in our own words, units after ISO 11783-11's public data
 * dictionary: 1 mg/m2, 0.01 mm3/m2, 0.001 /m2, 1 mm, 1 ppm.
 */
const ITEMS: readonly DataItem[] = [
  {ddi: 1, name: "set rate, volume", unit: "L/ha", perUnit: 10_000},
  {ddi: 2, name: "applied rate, volume", unit: "L/ha", perUnit: 10_000},
  {ddi: 6, name: "set rate, mass", unit: "kg/ha", perUnit: 100},
  {ddi: 7, name: "applied rate, mass", unit: "kg/ha", perUnit: 100},
  {ddi: 11, name: "set rate, count", unit: "/m2", perUnit: 1000},
  {ddi: 12, name: "applied rate, count", unit: "/m2", perUnit: 1000},
  {ddi: 16, name: "set spacing", unit: "m", perUnit: 1000},
  {ddi: 67, name: "working width", unit: "m", perUnit: 1000},
  {ddi: 80, name: "total volume", unit: "L", perUnit: 1},
  {ddi: 81, name: "total mass", unit: "kg", perUnit: 1},
  {ddi: 82, name: "total count", unit: "", perUnit: 1},
  {ddi: 83, name: "yield, volume", unit: "L/ha", perUnit: 0.1},
  {ddi: 84, name: "yield, mass", unit: "kg/ha", perUnit: 100},
  {ddi: 85, name: "yield, count", unit: "/m2", perUnit: 1000},
  {ddi: 87, name: "yield flow, mass", unit: "kg/s", perUnit: 1_000_000},
  {ddi: 99, name: "crop moisture", unit: "%", perUnit: 10_000},
  {ddi: 116, name: "area worked", unit: "m2", perUnit: 1},
  {ddi: 119, name: "time worked", unit: "s", perUnit: 1},
  {ddi: 134, name: "offset ahead", unit: "m", perUnit: 1000},
  {ddi: 135, name: "offset to the right", unit: "m", perUnit: 1000},
  {ddi: 136, name: "offset down", unit: "m", perUnit: 1000},
  {ddi: 140, name: "set rate, percent", unit: "%", perUnit: 10_000},
  {ddi: 141, name: "work state", unit: "", perUnit: 1},
  {ddi: 181, name: "yield, dry mass", unit: "kg/ha", perUnit: 100},
  {ddi: 397, name: "speed", unit: "m/s", perUnit: 1000},
];

/** 1 US gallon is 231 cubic inches, 3.785411784 L exactly. */
export const L_PER_HA_PER_GAL_PER_ACRE = 3.785411784 / (SQUARE_METRES_PER_ACRE / SQUARE_METRES_PER_HECTARE);

/** The set-rate identifier of each kind, with the units a terminal may show it in: how many raw make one. */
const RATES = {
  mass: {
    ddi: 6,
    shown: {
      "kg/ha": {perUnit: 100, decimals: 1},
      "lb/ac": {perUnit: 100 * KG_PER_HA_PER_LB_PER_ACRE, decimals: 1},
      "t/ha": {perUnit: 100_000, decimals: 2},
      "ton/ac": {perUnit: 100 * KG_PER_HA_PER_LB_PER_ACRE * POUNDS_PER_SHORT_TON, decimals: 2},
    },
  },
  volume: {
    ddi: 1,
    shown: {
      "L/ha": {perUnit: 10_000, decimals: 1},
      "gal/ac": {perUnit: 10_000 * L_PER_HA_PER_GAL_PER_ACRE, decimals: 2},
    },
  },
  count: {
    ddi: 11,
    shown: {
      "seeds/m2": {perUnit: 1000, decimals: 1},
      "seeds/ha": {perUnit: 0.1, decimals: 0},
      "seeds/ac": {perUnit: 1000 / SQUARE_METRES_PER_ACRE, decimals: 0},
    },
  },
} as const satisfies Record<RateKind, {ddi: number; shown: Record<string, {perUnit: number; decimals: number}>}>;

const BY_DDI = new Map(ITEMS.map((item) => [item.ddi, item]));
const MOST_RAW = 2 ** 31 - 1;

/** The identifier's meaning; unknown ones (also makers' own, 57344 to 65534) keep their raw numbers without a unit. */
export function dataItem(ddi: number): DataItem {
  return BY_DDI.get(ddi) ?? {ddi, name: `DDI ${ddiText(ddi)}`, unit: "", perUnit: 1};
}

/** The identifier a rate of this kind is set by: 0006, 0001 or 000B. */
export function rateItem(kind: RateKind): DataItem {
  return dataItem(RATES[kind].ddi);
}

/** Four hexadecimal digits, as files write it. */
export function ddiText(ddi: number): string {
  return ddi.toString(16).toUpperCase().padStart(4, "0");
}

/**
 * A rate as the whole number a file carries: mg/m2, 0.01 mm3/m2 or 0.001 /m2. Halves away from zero.
 *
 * @param rate - kg/ha, L/ha or /m2.
 * @throws {FieldError} `iso11783/bad-rate` for a rate that is negative, not a number, or beyond 32 bits.
 */
export function rawRate(kind: RateKind, rate: number, whose: string): number {
  const item = rateItem(kind);
  const raw = roundHalfAway(rate * item.perUnit);
  if (!(rate >= 0 && raw <= MOST_RAW)) {
    throw new FieldError("iso11783/bad-rate", `${whose} has a rate of ${rate} ${item.unit}.`, {
      hint: `A rate is a number from 0 to ${formatShort(MOST_RAW / item.perUnit)} ${item.unit}.`,
    });
  }
  return raw;
}

/**
 * How a terminal shows a rate in the user's own unit.
 *
 * @throws {FieldError} `iso11783/unit` when the unit does not fit the kind.
 */
export function ratePresentation(kind: RateKind, unit: string): Presentation {
  const shown: Readonly<Record<string, {perUnit: number; decimals: number}>> = RATES[kind].shown;
  const known = Object.hasOwn(shown, unit) ? shown[unit] : undefined;
  if (!known) {
    throw new FieldError("iso11783/unit", `"${unit}" is not a unit for a rate by ${kind}.`, {
      hint: `Use one of: ${Object.keys(shown).join(", ")}.`,
    });
  }
  return {offset: 0, scale: 1 / known.perUnit, decimals: known.decimals, unit};
}

/** The raw number as a terminal would show it. */
export function shownValue(raw: number, {offset, scale, decimals}: Presentation): number {
  return roundHalfAway((raw + offset) * scale, decimals);
}

/** The scale a rate's presentation should have for the unit it names; undefined for units and items not known here. */
export function rightScale(ddi: number, unit: string): number | undefined {
  const bare = unit.trim().toLowerCase();
  for (const {ddi: setRate, shown} of Object.values(RATES)) {
    // The applied rate of each kind follows its set rate and counts in the same unit.
    if (ddi !== setRate && ddi !== setRate + 1) continue;
    const found = Object.entries(shown).find(([name]) => name.toLowerCase() === bare);
    if (found) return 1 / found[1].perUnit;
  }
  return undefined;
}
