import {seededRandom} from "../stats/random.ts";
import type {NoisyStrategy} from "./certainty.ts";
import {type AnalyteNoise, USUAL_NOISE} from "./composite-noise.ts";
import {valueDrawer} from "./value-drawer.ts";

/** What one spot of ground tests and needs of one nutrient. */
export interface GroundNeed {
  readonly test: number;
  /** lb of nutrient per acre by the guide. */
  readonly needLbPerAcre: number;
}

/** What the ground may truly be: by draw, then by unit, then by nutrient. */
export type NeedDraws = readonly (readonly (readonly GroundNeed[])[])[];

/**
 * Draws what the units of the yardstick strategy may truly need, given what their composites read.
 *
 * @param needsOf - The guide, from test values to one need for each nutrient, in a fixed order. Pure.
 * @param noise - By analyte; overrides `USUAL_NOISE`.
 * @returns By draw, by unit in the order of the strategy. Units without values have no needs.
 */
export function redrawNeeds(
  yardstick: NoisyStrategy,
  needsOf: (values: Readonly<Record<string, number>>, unit: string) => readonly GroundNeed[],
  {
    noise,
    draws = 200,
    seed,
  }: {readonly noise?: Readonly<Record<string, AnalyteNoise>>; readonly draws?: number; readonly seed: number},
): NeedDraws {
  const draw = valueDrawer(yardstick.units, {...USUAL_NOISE, ...noise, ...yardstick.noise});
  const random = seededRandom(seed, "compare/needs");
  return Array.from({length: draws}, () =>
    draw(random).map((values, i) =>
      Object.keys(values).length === 0 ? [] : needsOf(values, (yardstick.units[i] as {id: string}).id),
    ),
  );
}
