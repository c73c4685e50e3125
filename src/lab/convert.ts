import type {Issue} from "../errors.ts";
import {formatShort} from "../units/format.ts";
import {ANALYTES, mgPerKgIn} from "./analytes.ts";
import type {SoilTest, SoilTestUnit} from "./soil-test.ts";

/**
 * Concentrations in mg/kg (ppm), as new results that remember what the lab printed.
 *
 * Soil-test lb/ac is ppm times 2 by convention, whatever depth was sampled: it stands for two million pounds of soil,
 * an acre 6⅔ inches deep (Ohio State University Extension fact sheet ANR-75). Percent is mg/kg over 10,000. pH, organic
 * matter and CEC pass unchanged. Results of one extractant are never converted to another.
 */
export function toMgPerKg(tests: readonly SoilTest[]): {tests: readonly SoilTest[]; issues: readonly Issue[]} {
  const converted = new Map<string, {from: SoilTest; to: SoilTest; count: number}>();
  const all = tests.map((test) => {
    const factor = mgPerKgIn(test.unit);
    if (ANALYTES[test.analyte].units[0] !== "mg/kg" || factor === undefined || factor === 1) return test;
    const to: SoilTest = {
      ...test,
      value: test.value * factor,
      unit: "mg/kg",
      convertedFrom: {value: test.value, unit: test.unit},
    };
    const key = `${test.analyte} ${test.unit} ${test.source.file}`;
    const seen = converted.get(key);
    converted.set(key, seen ? {...seen, count: seen.count + 1} : {from: test, to, count: 1});
    return to;
  });
  const issues = [...converted.values()].map(
    ({from, to, count}): Issue => ({
      code: "lab/converted",
      severity: "note",
      message: `${from.analyte}: ${count === 1 ? "1 result was" : `${count} results were`} converted from ${from.unit} to ppm (${conversionRule(from.unit)}); ${formatShort(from.value)} ${from.unit} of sample "${from.sampleId}" became ${formatShort(to.value)} ppm.`,
      place: from.source,
    }),
  );
  return {tests: all, issues};
}

/** The arithmetic of a conversion to ppm in words, as in "÷ 2". */
export function conversionRule(from: SoilTestUnit): string {
  return from === "lb/ac" ? "÷ 2, by convention" : "× 10,000";
}
