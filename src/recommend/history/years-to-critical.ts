import type {Analyte} from "../../lab/soil-test.ts";
import {formatShort as n} from "../../units/format.ts";
import type {Nutrient} from "../../units/nutrient.ts";
import type {WorkingStep} from "../recommendation.ts";
import {DECLINE_RATES, type DeclineRate} from "./decline-rates.ts";

export interface DrawdownInput {
  readonly analyte: Analyte;
  readonly nutrient: Nutrient;
  /** Soil test and level to fall to, both ppm by one method. */
  readonly test: number;
  readonly critical: number;
  /** lb of oxide that crops take in a year. */
  readonly removalLbPerYear: number;
  /** lb of oxide that change the test by 1 ppm. */
  readonly lbPerPpm: number;
}

export interface Drawdown {
  /** Whole years by removal; 0 when the test is there already. */
  readonly years: number;
  /** The same with half and with one and a half times the lb per ppm: nobody knows it better. */
  readonly yearsFrom: number;
  readonly yearsTo: number;
  /** What published declines would make of it, whole years, for comparison. */
  readonly published: readonly {readonly source: string; readonly from: number; readonly to: number}[];
  readonly working: readonly WorkingStep[];
}

/** lb of oxide per ppm are known within a half of themselves at best. */
const DOUBT = 0.5;

/**
 * Years until crop removal alone brings a high soil test down to a level, with no fertilizer and no manure.
 *
 * `(test − level) × lb per ppm ÷ removal`, in whole years. An estimate: soils that are high fall faster at first and
 * release from reserves later.
 */
export function yearsToCritical(input: DrawdownInput): Drawdown {
  const {analyte, nutrient, test, critical, removalLbPerYear, lbPerPpm} = input;
  if (!(removalLbPerYear > 0 && lbPerPpm > 0)) throw new Error("removal and lb per ppm must be above zero");
  const above = Math.max(0, test - critical);
  const years = (above * lbPerPpm) / removalLbPerYear;
  return {
    years: Math.round(years),
    yearsFrom: Math.round(years * (1 - DOUBT)),
    yearsTo: Math.round(years * (1 + DOUBT)),
    published:
      above === 0
        ? []
        : DECLINE_RATES.filter((rate) => rate.analyte === analyte).map((rate) => byRate(rate, test, critical)),
    working: [
      {
        text: `above the level: ${n(test)} − ${n(critical)}`,
        value: above,
        unit: "ppm",
        source: "lab result and guide",
        basis: "arithmetic",
      },
      {
        text: `years by removal: ${n(above)} × ${n(lbPerPpm)} lb ${nutrient} ÷ ${n(removalLbPerYear)} lb a year`,
        value: Math.round(years),
        unit: "years",
        source: "within a half of itself at best",
        basis: "arithmetic",
      },
    ],
  };
}

function byRate({perYear: {kind, slow, fast}, source}: DeclineRate, test: number, critical: number) {
  const years = (rate: number): number =>
    kind === "ppm"
      ? (test - critical) / rate
      : critical > 0
        ? Math.log(critical / test) / Math.log(1 - rate)
        : Infinity;
  return {source, from: Math.round(years(fast)), to: Math.round(years(slow))};
}
