import {METRES_PER_FOOT, SQUARE_METRES_PER_ACRE, SQUARE_METRES_PER_HECTARE} from "./factors.ts";

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

/** Round half away from zero: 2.5 to 3, -2.5 to -3. One rule everywhere, the easiest to explain to a grower. */
export function roundHalfAway(value: number, decimals = 0): number {
  const scale = 10 ** decimals;
  // The nudge undoes binary representation error, so that 1.005 rounds to 1.01 as a person expects.
  const scaled = Math.abs(value) * scale;
  const rounded = Math.floor(scaled + 0.5 + scaled * Number.EPSILON * 2);
  return rounded === 0 ? 0 : (Math.sign(value) * rounded) / scale;
}
