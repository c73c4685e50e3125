import {distanceToEdgeM} from "../../src/geo/measure.ts";
import type {SampleField, Season} from "./farm.ts";
import {ramp, type Surface, smoothNoise} from "./noise.ts";
import {groundAt, terrainAt, truthAt} from "./truth.ts";

/**
 * What a season's crop really yields at any point, bu/ac at the trade's standard moisture; 0 where it drowned.
 *
 * Wet ground carries a dry summer and fails in a wet spring; knolls and sand burn up in a dry one; the flats hardly
 * move. Fertility costs a little where P, K or pH is low, headlands a little for being driven on.
 */
export function expectedYieldOf(field: SampleField, season: Season): Surface {
  const patchy = smoothNoise(field.seed, `crop/${season.year} patchy`, 150);
  const fine = smoothNoise(field.seed, `crop/${season.year} fine`, 24);
  const response = RESPONSE[season.weather];
  const terrain = terrainAt(field);
  return (x, y) => {
    const {wet, knoll, sand} = groundAt(field, x, y);
    const {pPpm, kPpm, ph} = truthAt(field, x, y);
    const water = response.wet * wet + response.knoll * knoll + response.sand * sand;
    const fertility = (1 - 0.16 * Math.exp(-pPpm / 8)) * (1 - 0.2 * Math.exp(-kPpm / 40));
    const acid = 1 - (season.crop === "soybean" ? 0.09 : 0.05) * ramp(6.2 - ph, 0, 1);
    const packed = 1 - 0.09 * (1 - ramp(distanceToEdgeM(field.outline, {x, y}), 8, 22));
    const alive = 1 - response.drowned * terrain.pondAt(x, y);
    const luck = 1 + 0.045 * patchy(x, y) + 0.025 * fine(x, y);
    return Math.max(0, season.baseBuPerAcre * (1 + water) * fertility * acid * packed * luck * alive);
  };
}

/** Grain moisture, percent wet basis: wet ground ripens later. */
export function expectedMoistureOf(field: SampleField, season: Season): Surface {
  const patchy = smoothNoise(field.seed, `moisture/${season.year}`, 180);
  const spread = season.crop === "corn" ? 1 : 0.45;
  return (x, y) => {
    const {wet, knoll, sand} = groundAt(field, x, y);
    return season.moisturePct + spread * (1.3 * wet - 0.9 * knoll - 0.8 * sand + 0.5 * patchy(x, y));
  };
}

/** Share of the yield each kind of ground wins or loses. */
const RESPONSE = {
  dry: {wet: 0.1, knoll: -0.2, sand: -0.34, drowned: 0},
  fair: {wet: 0.03, knoll: -0.11, sand: -0.18, drowned: 0.25},
  wet: {wet: -0.13, knoll: -0.05, sand: -0.08, drowned: 1},
} as const;
