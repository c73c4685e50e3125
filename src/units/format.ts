import {
  BUSHEL,
  KG_PER_HA_PER_LB_PER_ACRE,
  KILOGRAMS_PER_POUND,
  LITRES_PER_US_GALLON,
  METRES_PER_FOOT,
  METRES_PER_INCH,
  METRES_PER_MILE,
  POUNDS_PER_SHORT_TON,
  SQUARE_METRES_PER_ACRE,
  SQUARE_METRES_PER_HECTARE,
} from "./factors.ts";

/** How the user likes to read numbers. US: acres, feet, lb/ac. */
export type UnitSystem = "us" | "metric";

/** `62345` to `"62,345"`, with a fixed number of decimals. Locale-free, so that the same run prints the same bytes. */
export function formatNumber(value: number, decimals = 0): string {
  if (!Number.isFinite(value)) return "n/a";
  const fixed = roundHalfAway(Math.abs(value), decimals).toFixed(decimals);
  const [whole = "0", rest] = fixed.split(".");
  const grouped = whole.replace(/\B(?=(\d{3})+(?!\d))/g, ",");
  const sign = value < 0 && Number(fixed) !== 0 ? "−" : "";
  return sign + grouped + (rest ? `.${rest}` : "");
}

/** As few decimals as the number needs, at most so many: `63` for 62.9999999, `0.35` for 0.35. */
export function formatShort(value: number, mostDecimals = 3): string {
  const text = formatNumber(value, mostDecimals);
  return text.includes(".") ? text.replace(/0+$/, "").replace(/\.$/, "") : text;
}

export function formatArea(areaM2: number, system: UnitSystem = "us", decimals = 1): string {
  return system === "us"
    ? `${formatNumber(areaM2 / SQUARE_METRES_PER_ACRE, decimals)} ac`
    : `${formatNumber(areaM2 / SQUARE_METRES_PER_HECTARE, decimals)} ha`;
}

export function formatLength(lengthM: number, system: UnitSystem = "us", decimals = 0): string {
  return system === "us"
    ? `${formatNumber(lengthM / METRES_PER_FOOT, decimals)} ft`
    : `${formatNumber(lengthM, decimals)} m`;
}

/** An amount with the unit it is in, as units are written everywhere: "lb/ac", "kg/ha". */
export interface Amount {
  readonly value: number;
  readonly unit: string;
}

/**
 * The same amount in the unit a reader of that system knows; as it is when neither system has another unit for it (ppm,
 * %, °, dollars).
 *
 * Bushels an acre have a weight only with a crop: without one whose bushel is known "bu/ac" stays, and "t/ha" is read
 * as short tons an acre. "ton" is the short ton, "t" the tonne; "gal" the US gallon.
 *
 * @param crop - As in `BUSHEL`: "corn", "soybean", "wheat", "oats", "barley".
 * No-data: NaN stays NaN. Source: the definitions beside the factors.
 */
export function inSystem(value: number, unit: string, system: UnitSystem, crop?: string): Amount {
  if (unit === "bu/ac" || (unit === "t/ha" && system === "us" && bushelOf(crop))) {
    const bushel = bushelOf(crop);
    if (!bushel || (unit === "bu/ac") === (system === "us")) return {value, unit};
    const tPerHa = (bushel.pounds * KG_PER_HA_PER_LB_PER_ACRE) / 1000;
    return unit === "bu/ac" ? {value: value * tPerHa, unit: "t/ha"} : {value: value / tPerHa, unit: "bu/ac"};
  }
  const pair = PAIRS.find(({us, metric}) => unit === (system === "us" ? metric : us));
  if (!pair) return {value, unit};
  return system === "us"
    ? {value: value / pair.factor, unit: pair.us}
    : {value: value * pair.factor, unit: pair.metric};
}

const HECTARES_PER_ACRE = SQUARE_METRES_PER_ACRE / SQUARE_METRES_PER_HECTARE;
const TONNES_PER_TON = (POUNDS_PER_SHORT_TON * KILOGRAMS_PER_POUND) / 1000;

/** A US unit, the metric one that stands for it, and how many of the second make one of the first. */
const PAIRS: readonly {readonly us: string; readonly metric: string; readonly factor: number}[] = [
  {us: "ac", metric: "ha", factor: HECTARES_PER_ACRE},
  {us: "lb/ac", metric: "kg/ha", factor: KG_PER_HA_PER_LB_PER_ACRE},
  {us: "lb", metric: "kg", factor: KILOGRAMS_PER_POUND},
  {us: "ton", metric: "t", factor: TONNES_PER_TON},
  {us: "ton/ac", metric: "t/ha", factor: TONNES_PER_TON / HECTARES_PER_ACRE},
  {us: "ft", metric: "m", factor: METRES_PER_FOOT},
  {us: "ft2", metric: "m2", factor: METRES_PER_FOOT ** 2},
  {us: "ft3", metric: "m3", factor: METRES_PER_FOOT ** 3},
  {us: "in", metric: "cm", factor: METRES_PER_INCH * 100},
  {us: "mi", metric: "km", factor: METRES_PER_MILE / 1000},
  {us: "mph", metric: "km/h", factor: METRES_PER_MILE / 1000},
  {us: "gal", metric: "L", factor: LITRES_PER_US_GALLON},
  {us: "gal/ac", metric: "L/ha", factor: LITRES_PER_US_GALLON / HECTARES_PER_ACRE},
  {us: "$/ac", metric: "$/ha", factor: 1 / HECTARES_PER_ACRE},
  {us: "$/lb", metric: "$/kg", factor: 1 / KILOGRAMS_PER_POUND},
  {us: "$/ton", metric: "$/t", factor: 1 / TONNES_PER_TON},
];

function bushelOf(crop: string | undefined): {readonly pounds: number} | undefined {
  return crop !== undefined && Object.hasOwn(BUSHEL, crop) ? BUSHEL[crop as keyof typeof BUSHEL] : undefined;
}

/** Round half away from zero: 2.5 to 3, -2.5 to -3. One rule everywhere, the easiest to explain to a grower. */
export function roundHalfAway(value: number, decimals = 0): number {
  const scale = 10 ** decimals;
  // The nudge undoes binary representation error, so that 1.005 rounds to 1.01 as a person expects.
  const scaled = Math.abs(value) * scale;
  const rounded = Math.floor(scaled + 0.5 + scaled * Number.EPSILON * 2);
  return rounded === 0 ? 0 : (Math.sign(value) * rounded) / scale;
}
