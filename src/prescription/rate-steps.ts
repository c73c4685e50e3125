import type {Issue} from "../errors.ts";
import {bordersAmong} from "../geo/neighbours.ts";
import {formatNumber} from "../units/format.ts";
import type {RatePolygon, RateSteps} from "./prescription.ts";

/**
 * How the rate changes from polygon to polygon.
 *
 * Counts only borders of some length whose vertices match on both sides, as in every coverage made by `geo/partition`.
 */
export function rateSteps(polygons: readonly RatePolygon[], largeStepLbPerAcre: number): RateSteps {
  let borders = 0;
  let changes = 0;
  let large = 0;
  let largestLbPerAcre = 0;
  let largestBetween: readonly [string, string] | undefined;
  bordersAmong(polygons.map((p) => p.polygon)).forEach((neighbours, i) => {
    const here = polygons[i] as RatePolygon;
    for (const j of [...neighbours.keys()].sort((a, b) => a - b)) {
      if (j < i) continue;
      const there = polygons[j] as RatePolygon;
      const step = Math.abs(here.rateLbPerAcre - there.rateLbPerAcre);
      borders++;
      if (step > 0) changes++;
      if (step > largeStepLbPerAcre) large++;
      if (step > largestLbPerAcre) {
        largestLbPerAcre = step;
        largestBetween = [here.unit, there.unit];
      }
    }
  });
  return {borders, changes, large, largeStepLbPerAcre, largestLbPerAcre, ...(largestBetween && {largestBetween})};
}

/** A remark on large steps, or none. */
export function largeStepIssues(steps: RateSteps): Issue[] {
  if (steps.large === 0 || !steps.largestBetween) return [];
  const [a, b] = steps.largestBetween;
  return [
    {
      code: "prescription/large-steps",
      severity: "note",
      message:
        `The rate changes by more than ${formatNumber(steps.largeStepLbPerAcre)} lb/ac across ${steps.large} of ` +
        `${steps.borders} borders between neighbours; the largest change, ${formatNumber(steps.largestLbPerAcre)} ` +
        `lb/ac, is between ${a} and ${b}.`,
      hint: "Expect the spreader to need 3 to 5 seconds there, and set the controller's look-ahead to match.",
    },
  ];
}
