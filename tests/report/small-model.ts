import {adviseSampling} from "../../src/compare/advise-sampling.ts";
import {certaintyOf} from "../../src/compare/certainty.ts";
import {compareStrategies} from "../../src/compare/compare-strategies.ts";
import {differenceMap} from "../../src/compare/difference-map.ts";
import {moneyOf} from "../../src/compare/money.ts";
import {overAndUnder} from "../../src/compare/over-and-under.ts";
import type {BuiltPrescription} from "../../src/prescription/prescription.ts";
import type {ReportModel} from "../../src/report/report-model.ts";
import {SQUARE_METRES_PER_ACRE} from "../../src/units/factors.ts";
import type {Nutrient} from "../../src/units/nutrient.ts";
import {resultOf} from "../compare/results.ts";
import {strips} from "../prescription/fields.ts";

/** Twelve acres, one rate against three zones: small enough to check every figure of a report. */
export function smallModel(more: Partial<ReportModel> = {}): ReportModel {
  const whole = resultOf("whole-field", ["AAAA", "AAAA", "AAAA"], {"whole field": 52}, {pricePerLb: 0.4});
  const zones = resultOf("zone", ["AABB", "AABB", "CCCC"], {A: 0, B: 104, C: 52}, {pricePerLb: 0.4});
  const results = [whole, zones].map(({plan, recommendations = [], prescriptions = []}) => ({
    plan: {...plan, units: plan.units.map((unit, i) => (plan.strategy === "zone" ? {...unit, zone: i + 1} : unit))},
    recommendations,
    prescriptions: prescriptions as BuiltPrescription<Nutrient>[],
  }));
  const areaM2 = 12 * SQUARE_METRES_PER_ACRE;
  const certainty = certaintyOf({
    strategies: results.map(({plan}) => ({
      strategy: plan.strategy,
      pooled: plan.pooled,
      units: plan.units.map(({id, area, cores}, i) => ({
        id,
        acres: area / SQUARE_METRES_PER_ACRE,
        cores: cores.length,
        values: {P: [60, 12, 25][plan.pooled ? 2 : i] ?? 25},
      })),
    })),
    products: [{code: "MAP", analysis: "11-52-0", nutrient: "P2O5", pricePerLb: 0.4}],
    evaluate: ({P = 0}) => ({lbPerAcre: [P >= 40 ? 0 : P < 20 ? 200 : 100], classes: [P >= 40 ? "high" : "low"]}),
    draws: 100,
    seed: 1,
  });
  const [one, two] = results.map(({prescriptions}) => prescriptions[0]) as [
    BuiltPrescription<Nutrient>,
    BuiltPrescription<Nutrient>,
  ];
  return {
    farm: "Test farm",
    field: "North",
    acres: 12,
    crops: "corn 200 bu/ac",
    outline: strips("AAAA", "AAAA", "AAAA").flatMap(({shape}) => shape),
    strategies: results,
    comparison: compareStrategies({
      field: "North",
      areaM2,
      strategies: results,
      baseline: "whole-field",
      intervalsShown: true,
    }),
    certainty,
    advice: adviseSampling({baseline: "whole-field", samples: {"whole-field": 1, zone: 3}, certainty}),
    money: moneyOf({areaM2, strategies: results, baseline: "whole-field"}),
    differences: [differenceMap(two, one)],
    overUnder: [
      overAndUnder(one, {
        kind: "parts",
        parts: (results[1]?.plan.units ?? []).map(({shape}, i) => ({shape, value: [0, 104, 52][i] ?? 0})),
      }),
    ],
    issues: [
      {code: "a/note", severity: "note", message: "A small thing."},
      {
        code: "a/warning",
        severity: "warning",
        message: "Row 3 has no K.",
        hint: "Ask the lab.",
        place: {file: "lab.csv", row: 3},
      },
    ],
    record: {
      program: {name: "Loamwright", version: "0.0.0"},
      seed: 1,
      inputs: [{name: "lab.csv", sha256: "ab".repeat(32), bytes: 1234}],
      steps: [{step: "sampling/plan", inputs: ["north"], options: {cores: 15}, seed: 1}],
      options: {seed: 1, products: ["11-52-0"]},
      labSentences: ["4 samples planned, 4 with results, 0 unknown ids"],
    },
    caution: "Check against local rules.",
    ...more,
  };
}
