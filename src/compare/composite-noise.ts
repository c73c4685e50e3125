import {FieldError} from "../errors.ts";
import {duplicateSd} from "../stats/prediction-error.ts";

/** Where a number comes from that is neither measured here nor printed in a guide. */
export type SettingBasis = "user" | "measured" | "published" | "common practice" | "placeholder";

/** How far one composite's result may be from the mean of its ground. */
export interface AnalyteNoise {
  /** Spread of single cores within a unit, percent of their mean (of pH: in pH). */
  readonly core: number;
  /** Repeatability of the lab, in the same. */
  readonly lab: number;
  /** "share": percent of the value, errors multiply. "same": the same everywhere, errors add. */
  readonly scale: "share" | "same";
  readonly basis: SettingBasis;
  readonly source: string;
}

const ASSUMED = "assumed; take duplicate composites to know it";
/** Together about 10 % for P, K and Mg and 0.1 for pH in a Dutch study (Ferrari and Vermeulen). */
const LAB = "lab repeatability about 8 %, common practice";

/**
 * Noise taken where the user gives none. The core spread of phosphorus is the 35 % at which 21 cores come within 15 %
 * (Kansas State); the rest are assumptions, and every table made with them says so.
 */
export const USUAL_NOISE: Readonly<Record<string, AnalyteNoise>> = {
  P: {core: 35, lab: 8, scale: "share", basis: "placeholder", source: `35 % between cores (Kansas State), ${LAB}`},
  K: {core: 25, lab: 8, scale: "share", basis: "placeholder", source: `25 % between cores, ${ASSUMED}; ${LAB}`},
  CEC: {core: 10, lab: 5, scale: "share", basis: "placeholder", source: ASSUMED},
  OM: {core: 15, lab: 5, scale: "share", basis: "placeholder", source: ASSUMED},
  pH: {core: 0.2, lab: 0.05, scale: "same", basis: "placeholder", source: ASSUMED},
};

/**
 * Spread of a composite of `cores` cores: √(core² / n + lab²), in the unit of the noise.
 *
 * Cores are taken as independent; cores laid out evenly over a unit do a little better.
 *
 * Checked against: core 35 %, lab 8 %, 15 cores: 12.07 %.
 */
export function compositeSpread({core, lab}: Pick<AnalyteNoise, "core" | "lab">, cores: number): number {
  return Math.sqrt(core ** 2 / cores + lab ** 2);
}

/** Standard deviation on the scale errors are normal on: of the logarithm for shares, in the unit otherwise. */
export function compositeSd(noise: AnalyteNoise, cores: number): number {
  const spread = compositeSpread(noise, cores);
  return noise.scale === "share" ? Math.sqrt(Math.log1p((spread / 100) ** 2)) : spread;
}

/**
 * Noise measured by duplicate composites: two bags of the same unit, pulled and analysed apart.
 *
 * The whole spread is put down to the composite as it was taken, so it holds for the number of cores the duplicates had.
 *
 * @param pairs - Results of the two bags, in the lab's unit.
 * @throws {FieldError} `compare/bad-duplicate` for a result that is not above zero on a share scale.
 */
export function noiseFromDuplicates(
  pairs: readonly (readonly [number, number])[],
  scale: AnalyteNoise["scale"] = "share",
): AnalyteNoise {
  if (scale === "same") return measured(duplicateSd(pairs), scale, pairs.length);
  const bad = pairs.flat().find((value) => !(value > 0));
  if (bad !== undefined) {
    throw new FieldError("compare/bad-duplicate", `A duplicate result of ${bad} cannot be used for a share.`, {
      hint: "Leave out pairs with a result of zero or below detection.",
    });
  }
  const sd = duplicateSd(pairs.map(([a, b]) => [Math.log(a), Math.log(b)] as const));
  return measured(100 * Math.sqrt(Math.expm1(sd ** 2)), scale, pairs.length);
}

function measured(lab: number, scale: AnalyteNoise["scale"], count: number): AnalyteNoise {
  return {core: 0, lab, scale, basis: "measured", source: `${count} pairs of duplicate composites`};
}
