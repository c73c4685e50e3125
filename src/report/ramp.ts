/** Single-hue ramps that read in print and for colour-blind eyes; light is little, dark is much. */
export const RAMPS = {
  rate: ["#eef2f4", "#c9d9e4", "#94b7cf", "#5b8db2", "#2e628c", "#123c5e"],
  soilTest: ["#efe6d2", "#dcc894", "#bda35a", "#94803b", "#756327", "#5c4a14"],
  elevation: ["#f0ede8", "#d5cdc2", "#b0a596", "#8a7d6d", "#655a4c", "#40382f"],
} as const;

export type RampName = keyof typeof RAMPS;

/** Colour of a value between the ends of a ramp; values beyond an end take the end's colour. */
export function rampColour(name: RampName, value: number, least: number, most: number): string {
  const stops = RAMPS[name];
  const share = most > least ? Math.max(0, Math.min(1, (value - least) / (most - least))) : 0.5;
  const at = share * (stops.length - 1);
  const lower = Math.min(stops.length - 2, Math.floor(at));
  return blend(stops[lower] as string, stops[lower + 1] as string, at - lower);
}

/**
 * Colour of a difference: purple for less, paper for none, orange for more, as deep as the largest difference either way.
 * Never the only carrier: signs and hatches stand beside it.
 */
export function differenceColour(value: number, most: number): string {
  const share = most > 0 ? Math.max(-1, Math.min(1, value / most)) : 0;
  return blend("#f7f3ea", share < 0 ? "#5b3a78" : "#b8641a", Math.abs(share));
}

/** Ink or paper, whichever is read more easily on a colour (WCAG 2 relative luminance). */
export function inkOn(colour: string): "#1f2a2e" | "#fffdf8" {
  const [r, g, b] = channels(colour).map((c) => {
    const s = c / 255;
    return s <= 0.04045 ? s / 12.92 : ((s + 0.055) / 1.055) ** 2.4;
  }) as [number, number, number];
  return 0.2126 * r + 0.7152 * g + 0.0722 * b > 0.3 ? "#1f2a2e" : "#fffdf8";
}

function blend(from: string, to: string, share: number): string {
  const [a, b] = [channels(from), channels(to)];
  return `#${a
    .map((c, i) =>
      Math.round(c + share * ((b[i] as number) - c))
        .toString(16)
        .padStart(2, "0"),
    )
    .join("")}`;
}

function channels(hex: string): number[] {
  return [1, 3, 5].map((i) => Number.parseInt(hex.slice(i, i + 2), 16));
}
