import type {Issue} from "../errors.ts";
import {idKey} from "./sample-id.ts";
import type {Analyte, SoilTest} from "./soil-test.ts";

/** mg/kg that make one meq/100 g. Rounded equivalent weights as labs use them (Ca 200, Mg 120 to 122, K 390). */
const PER_MEQ = {Ca: 200, Mg: 120, K: 390} as const;

/**
 * Remarks when Ca, Mg and K add to more than the CEC they are part of in most samples: their unit is then most likely
 * lb/ac read as ppm, twice too high.
 *
 * Ten percent over is let pass: extractants and rounding differ, and free lime adds calcium.
 */
export function checkCations(file: string, tests: readonly SoilTest[]): readonly Issue[] {
  const samples = new Map<string, Partial<Record<Analyte, SoilTest>>>();
  for (const test of tests) {
    const key = idKey(test.sampleId);
    samples.set(key, {...samples.get(key), [test.analyte]: test});
  }
  let complete = 0;
  let over = 0;
  for (const {Ca, Mg, K, CEC} of samples.values()) {
    if (!Ca || !Mg || !K || !CEC || [Ca, Mg, K].some(({unit}) => unit !== "mg/kg")) continue;
    complete++;
    const bases = Ca.value / PER_MEQ.Ca + Mg.value / PER_MEQ.Mg + K.value / PER_MEQ.K;
    if (bases > 1.1 * CEC.value) over++;
  }
  if (over * 2 <= complete) return [];
  return [
    {
      code: "lab/cations-exceed-cec",
      severity: "warning",
      message: `Ca, Mg and K add to more than the CEC in ${over} of ${complete} samples.`,
      place: {file},
      hint: "Check whether Ca, Mg and K are in lb/ac, and whether the CEC column is the CEC.",
    },
  ];
}
