import {type Random, seededRandom} from "../stats/random.ts";
import type {NoisyStrategy} from "./certainty.ts";
import {type AnalyteNoise, compositeSd, USUAL_NOISE} from "./composite-noise.ts";
import {toThreeFigures, type UnitValues, valueDrawer} from "./value-drawer.ts";

/** What one spot of ground tests and needs of one nutrient. */
export interface GroundNeed {
  readonly test: number;
  /** lb of nutrient per acre by the guide. */
  readonly needLbPerAcre: number;
}

/** What the ground may truly be: by draw, then by unit, then by spot within the unit, then by product. */
export type NeedDraws = readonly (readonly (readonly (readonly GroundNeed[])[])[])[];

export interface RedrawOptions {
  /** By analyte; overrides `USUAL_NOISE`. */
  readonly noise?: Readonly<Record<string, AnalyteNoise>>;
  /** Spread of the ground within a unit by analyte, percent. Default: the spread between cores of P and K in `noise`. */
  readonly withinPct?: Readonly<Record<string, number>>;
  /** Spots drawn in each unit; 1 with no spread within judges by unit means alone. Default 6. */
  readonly spots?: number;
  /** Default 100. */
  readonly draws?: number;
  readonly seed: number;
}

/**
 * Draws what the ground of the yardstick strategy may truly need, given what its composites read: the mean of each unit, and
 * spots that spread about it as cores do, so that no strategy is taken to be right everywhere within its units.
 *
 * @param needsOf - The guide, from test values to one need for each product, in a fixed order. Pure; the same values come
 *   many times, so remembering answers pays.
 * @returns By draw, by unit in the order of the strategy. Units without values have no spots.
 */
export function redrawNeeds(
  yardstick: NoisyStrategy,
  needsOf: (values: UnitValues, unit: string) => readonly GroundNeed[],
  {noise, withinPct, spots = 6, draws = 100, seed}: RedrawOptions,
): NeedDraws {
  const scatter = {...USUAL_NOISE, ...noise, ...yardstick.noise};
  const draw = valueDrawer(yardstick.units, scatter);
  const random = seededRandom(seed, "compare/needs");
  const within = Object.entries(withinPct ?? usualWithin({...USUAL_NOISE, ...noise})).map(
    ([analyte, core]): [string, number] => [
      analyte,
      compositeSd({core, lab: 0, scale: "share", basis: "user", source: ""}, 1),
    ],
  );
  return Array.from({length: draws}, () =>
    draw(random).map((values, i) =>
      Object.keys(values).length === 0
        ? []
        : Array.from({length: spots}, () =>
            needsOf(spotIn(values, within, random), (yardstick.units[i] as {id: string}).id),
          ),
    ),
  );
}

function usualWithin(noise: Readonly<Record<string, AnalyteNoise>>): Record<string, number> {
  return Object.fromEntries(["P", "K"].map((analyte) => [analyte, noise[analyte]?.core ?? 0]));
}

/** One spot of a unit: its mean times a lognormal whose own mean is 1. */
function spotIn(values: UnitValues, within: readonly (readonly [string, number])[], random: Random): UnitValues {
  const spot: Record<string, number> = {...values};
  for (const [analyte, sd] of within) {
    const mean = spot[analyte];
    if (mean === undefined) continue;
    spot[analyte] = toThreeFigures(mean * Math.exp(sd * random.normal() - (sd * sd) / 2));
  }
  return spot;
}
