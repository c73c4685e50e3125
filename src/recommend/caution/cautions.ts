import type {Issue} from "../../errors.ts";
import type {UnitValue} from "../../lab/soil-test.ts";
import {formatShort as n} from "../../units/format.ts";
import type {Recommendation} from "../recommendation.ts";
import {PHOSPHORUS_THRESHOLDS} from "./phosphorus-thresholds.ts";

/** Mehlich-3 ppm from which grain crops have no agronomic need: the maintenance limits of Tri-State 2020. */
const NO_NEED = {grain: 40, "wheat or alfalfa": 50} as const;

/**
 * What a careful adviser would say of a unit's soil phosphorus: thresholds of the state and phosphorus left from earlier
 * years. Advisory, and worded so: published values are old or second-hand, and local code goes before all of them.
 *
 * @param given.state - Two-letter code; without it no state's threshold is looked at.
 * @param given.recommendation - The unit's phosphate rate, where there is one.
 */
export function cautions(given: {
  readonly unit: string;
  readonly tests: readonly UnitValue[];
  readonly state?: string;
  readonly crops?: readonly string[];
  readonly recommendation?: Recommendation;
}): readonly Issue[] {
  const {unit, tests, crops = [], recommendation} = given;
  const state = given.state?.trim().toUpperCase();
  const issues: Issue[] = [];
  const say = (code: string, severity: "note" | "warning", message: string, hint: string): void => {
    issues.push({code: `caution/${code}`, severity, message, place: {featureId: unit}, hint});
  };
  for (const test of tests) {
    const ppm = ppmOf(test);
    if (test.analyte !== "P" || ppm === undefined) continue;
    const reached = PHOSPHORUS_THRESHOLDS.filter(
      (row) => row.state === state && row.methods.includes(test.method) && ppm > row.above,
    );
    const highest = reached.reduce<(typeof reached)[number] | undefined>(
      (a, b) => (a && a.above >= b.above ? a : b),
      undefined,
    );
    if (highest) {
      const memory = highest.basis === "from memory" ? "; from memory" : "";
      say(
        "phosphorus-threshold",
        "warning",
        `P ${n(ppm, 0)} ppm by ${test.method} in unit "${unit}" is above ${highest.above} ppm: ${highest.says} (${highest.source}${memory}).`,
        "Check local code before any phosphorus is spread there.",
      );
    }
    const rotation = crops.some((crop) => /wheat|alfalfa/i.test(crop)) ? "wheat or alfalfa" : "grain";
    if (test.method.startsWith("mehlich-3") && ppm >= NO_NEED[rotation]) {
      say(
        "legacy-phosphorus",
        "note",
        `P ${n(ppm, 0)} ppm in unit "${unit}" is phosphorus left from earlier years: ${rotation === "grain" ? "corn and soybean" : rotation} need none from ${NO_NEED[rotation]} ppm on.`,
        "Let crops draw it down; manure phosphorus is better used elsewhere.",
      );
      if (recommendation?.nutrient === "P2O5" && recommendation.rateLbPerAcre > 0) {
        say(
          "phosphorus-on-high-soil",
          "warning",
          `Unit "${unit}" is to get ${n(recommendation.rateLbPerAcre, 1)} lb P2O5/ac although its soil test shows no need.`,
          "Check the guide, the override and local code.",
        );
      }
    }
  }
  return issues;
}

/** Soil-test lb/ac is ppm × 2 by convention. */
function ppmOf({value, unit}: UnitValue): number | undefined {
  return unit === "mg/kg" ? value : unit === "lb/ac" ? value / 2 : undefined;
}
