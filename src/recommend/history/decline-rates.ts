import type {Analyte} from "../../lab/soil-test.ts";
import type {Basis} from "../guide.ts";

/** How fast soil tests fell where nothing, or less than removal, was put on. */
export interface DeclineRate {
  readonly analyte: Analyte;
  /** Share of the test a year, or ppm a year; the slower first. */
  readonly perYear: {readonly kind: "share" | "ppm"; readonly slow: number; readonly fast: number};
  readonly source: string;
  readonly basis: Basis;
}

/** Published rates, as a check on what removal alone suggests. ppm are of the test that was used there. */
export const DECLINE_RATES: readonly DeclineRate[] = [
  {
    analyte: "P",
    perYear: {kind: "share", slow: 0.043, fast: 0.082},
    source: "a meta-analysis of 56 fields, Mehlich-3 equivalents (2025)",
    basis: "printed",
  },
  {
    analyte: "P",
    perYear: {kind: "ppm", slow: 2, fast: 4},
    source: "Ohio State University advice on soils above 120 ppm",
    basis: "printed",
  },
  {
    analyte: "P",
    perYear: {kind: "ppm", slow: 16 / 9, fast: 16 / 9},
    source: "nine years without fertilizer in Ohio",
    basis: "printed",
  },
  {
    analyte: "K",
    perYear: {kind: "ppm", slow: 41 / 9, fast: 41 / 9},
    source: "nine years without fertilizer in Ohio",
    basis: "printed",
  },
  {
    analyte: "K",
    perYear: {kind: "ppm", slow: 6.5, fast: 6.5},
    source: "Illinois, 13 lb/ac of soil test a year",
    basis: "printed",
  },
];

/** A soil test after some years of falling by a share of itself each year. */
export function declined(test: number, sharePerYear: number, years: number): number {
  return test * (1 - sharePerYear) ** years;
}

/** Years until a test that falls by a share of itself each year has halved. */
export function halvingYears(sharePerYear: number): number {
  return Math.log(0.5) / Math.log(1 - sharePerYear);
}
