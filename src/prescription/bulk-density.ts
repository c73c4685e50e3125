/**
 * Loose weight of dry products, lb per cubic foot, low and high, by analysis N-P2O5-K2O.
 *
 * Source: fertilizer property tables of US extension services and suppliers; spreaders are set by weighing a box of the
 * very load, so these only tell how many loads a field takes.
 */
const LB_PER_CUBIC_FOOT: Readonly<Record<string, readonly [low: number, high: number]>> = {
  "11-52-0": [60, 65],
  "18-46-0": [55, 60],
  "0-46-0": [65, 75],
  "0-0-60": [58, 65],
  "0-0-62": [58, 65],
  "46-0-0": [44, 48],
  "21-0-0-24": [47, 53],
  "34-0-0": [54, 58],
  "0-0-22-22": [90, 98],
};

/** Middle of the printed range for an analysis, or undefined where none was found. A sulfur mark does not matter. */
export function bulkDensity(analysis: string): number | undefined {
  const range = LB_PER_CUBIC_FOOT[analysis.trim().toUpperCase().replace(/S$/, "")];
  return range && (range[0] + range[1]) / 2;
}
