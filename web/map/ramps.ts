// Single-hue ramps that read in print and for colour-blind eyes: light is little, dark is much.
const RAMPS = {
  rate: ["#eef2f4", "#c9d9e4", "#94b7cf", "#5b8db2", "#2e628c", "#123c5e"],
  test: ["#efe6d2", "#dcc894", "#bda35a", "#94803b", "#756327", "#5c4a14"],
} as const;

export type Ramp = keyof typeof RAMPS;

export const INK = "#1f2a2e";
export const SHEET = "#fffdf8";
export const GROUND = "#f3efe4";

/** Colour of a value between the ends of a ramp. */
export function rampColour(ramp: Ramp, value: number, least: number, most: number): string {
  const stops = RAMPS[ramp];
  const share = most > least ? clamp((value - least) / (most - least), 0, 1) : 0.5;
  const at = share * (stops.length - 1);
  const lower = Math.min(stops.length - 2, Math.floor(at));
  return blend(stops[lower] as string, stops[lower + 1] as string, at - lower);
}

/** Purple for less, paper for none, orange for more, as deep as the largest difference either way. */
export function differenceColour(value: number, most: number): string {
  const share = most > 0 ? clamp(value / most, -1, 1) : 0;
  return blend("#f7f3ea", share < 0 ? "#5b3a78" : "#b8641a", Math.abs(share));
}

/** Tint of a zone; number and hatch say the same in black and white. */
export function zoneTint(zone: number, zones: number): string {
  return blend("#f1ebdc", "#8fa9ab", zones > 1 ? (zone - 1) / (zones - 1) : 0.4);
}

/** Six steps of a ramp, for a legend. */
export function rampSteps(ramp: Ramp | "difference"): string[] {
  if (ramp === "difference") return [-1, -0.5, 0, 0.5, 1].map((share) => differenceColour(share, 1));
  return [...RAMPS[ramp]];
}

/** Ink or paper, whichever is read more easily on a colour (WCAG 2 relative luminance). */
export function inkOn(colour: string): string {
  const [r = 0, g = 0, b = 0] = channels(colour).map((c) => {
    const s = c / 255;
    return s <= 0.04045 ? s / 12.92 : ((s + 0.055) / 1.055) ** 2.4;
  });
  return 0.2126 * r + 0.7152 * g + 0.0722 * b > 0.25 ? INK : SHEET;
}

function blend(from: string, to: string, share: number): string {
  const [a, b] = [channels(from), channels(to)];
  const mixed = a.map((c, i) => Math.round(c + share * ((b[i] as number) - c)));
  return `#${mixed.map((c) => c.toString(16).padStart(2, "0")).join("")}`;
}

const channels = (hex: string): number[] => [1, 3, 5].map((i) => Number.parseInt(hex.slice(i, i + 2), 16));
const clamp = (value: number, low: number, high: number): number => Math.max(low, Math.min(high, value));
