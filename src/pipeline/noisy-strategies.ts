import type {NoisyStrategy} from "../compare/certainty.ts";
import {type AnalyteNoise, noiseFromDuplicates} from "../compare/composite-noise.ts";
import {FieldError} from "../errors.ts";
import {SQUARE_METRES_PER_ACRE} from "../units/factors.ts";
import type {Job} from "./job.ts";
import type {RatedPlan} from "./rate-plans.ts";

/** Each strategy's units with the results their rates hang on. */
export function noisyStrategies(strategies: readonly RatedPlan[], analytes: readonly string[]): NoisyStrategy[] {
  return strategies.map(({plan, values}) => ({
    strategy: plan.strategy,
    pooled: plan.pooled,
    units: plan.units.map(({id, area, cores}) => ({
      id,
      acres: area / SQUARE_METRES_PER_ACRE,
      cores: cores.length,
      values: Object.fromEntries(
        (values.get(id) ?? [])
          .filter(({analyte}) => analytes.includes(analyte))
          .map(({analyte, value}) => [analyte, value]),
      ),
    })),
  }));
}

/** Noise as the job gives it. */
export function givenNoise(job: Job): Record<string, AnalyteNoise> {
  return Object.fromEntries(
    Object.entries(job.compare.noise).map(([analyte, {core, lab}]) => [
      analyte,
      {core, lab, scale: analyte === "pH" ? "same" : "share", basis: "user", source: "your setting"} as const,
    ]),
  );
}

/**
 * Noise measured by the duplicate bags of the job, for every analyte that both bags of at least two pairs have.
 *
 * @throws {FieldError} `compare/duplicate-unknown` for an id without results.
 */
export function duplicateNoise(job: Job, strategies: readonly RatedPlan[]): Record<string, AnalyteNoise> {
  const results = new Map(strategies.flatMap(({values}) => [...values]));
  const pairs = new Map<string, [number, number][]>();
  for (const [one, other] of job.compare.duplicates) {
    const [a, b] = [one, other].map((id) => {
      const found = results.get(id);
      if (found && found.length > 0) return found;
      throw new FieldError("compare/duplicate-unknown", `Duplicate sample "${id}" has no results.`, {
        place: {featureId: id},
        hint: "Check its id against the plans and the lab report.",
      });
    });
    for (const {analyte, value} of a ?? []) {
      const same = b?.find((test) => test.analyte === analyte);
      if (same) pairs.set(analyte, [...(pairs.get(analyte) ?? []), [value, same.value]]);
    }
  }
  return Object.fromEntries(
    [...pairs]
      .filter(([, found]) => found.length >= 2)
      .map(([analyte, found]) => [analyte, noiseFromDuplicates(found, analyte === "pH" ? "same" : "share")]),
  );
}
