import type {Nutrient} from "../units/nutrient.ts";
import type {SettingBasis} from "./composite-noise.ts";

/**
 * Yield by soil test when none of the nutrient is spread, as data.
 *
 * Relative yield rises from `atZero` to 1 at the critical test and stays there: in a straight line, or along a parabola
 * whose top is at the critical test.
 */
export interface ResponseCurve {
  readonly id: string;
  readonly title: string;
  readonly nutrient: Nutrient;
  readonly shape: "linear plateau" | "quadratic plateau";
  /** Relative yield, 0 to 1, at a test of zero. */
  readonly atZero: number;
  readonly criticalTest: number;
  /** Unit and method of the test. */
  readonly test: string;
  readonly basis: SettingBasis;
  readonly source: string;
}

const SHAPES = "linear and quadratic plateaus are the usual shapes of correlation trials; ";

/**
 * Curves to begin with. The critical levels are those of the Tri-State guide; how far yield falls below them is assumed,
 * and differs by year and field. Trials often find no response even well under the critical level: in Kentucky (Reed and
 * others 2025) half the plots under it gave no more with phosphorus.
 */
export const USUAL_CURVES: readonly ResponseCurve[] = [
  curve("p-quadratic", "Phosphorus, quadratic plateau", "P2O5", "quadratic plateau", 0.75, 20, "ppm Mehlich-3 ICP"),
  curve("p-linear", "Phosphorus, linear plateau", "P2O5", "linear plateau", 0.85, 20, "ppm Mehlich-3 ICP"),
  curve("k-quadratic", "Potassium, quadratic plateau", "K2O", "quadratic plateau", 0.65, 120, "ppm Mehlich-3"),
  curve("k-linear", "Potassium, linear plateau", "K2O", "linear plateau", 0.75, 120, "ppm Mehlich-3"),
];

/** Share of full yield at a soil test, nothing spread: 1 at and above the critical test. */
export function relativeYield({shape, atZero, criticalTest}: ResponseCurve, test: number): number {
  const short = Math.max(0, 1 - Math.max(0, test) / criticalTest);
  return 1 - (1 - atZero) * (shape === "linear plateau" ? short : short * short);
}

/**
 * Share of full yield when some of what is needed is given. The first pounds close most of the gap: a share `u` of the need
 * closes 2u − u² of it, and the full need all of it. The form is an assumption, as in the curve itself.
 *
 * @param given - lb of nutrient per acre, as `needed`.
 */
export function relativeYieldGiven(of: ResponseCurve, test: number, given: number, needed: number): number {
  const without = relativeYield(of, test);
  const share = needed > 0 ? Math.min(1, Math.max(0, given / needed)) : 1;
  return without + (1 - without) * (2 * share - share * share);
}

function curve(
  id: string,
  title: string,
  nutrient: Nutrient,
  shape: ResponseCurve["shape"],
  atZero: number,
  criticalTest: number,
  test: string,
): ResponseCurve {
  const source = `${SHAPES}critical level of Tri-State 2020; yield at a test of zero assumed, no source`;
  return {id, title, nutrient, shape, atZero, criticalTest, test, basis: "placeholder", source};
}
