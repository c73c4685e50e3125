import {FieldError, type Issue} from "../errors.ts";
import {type Grid, sameGrid} from "../grid/grid.ts";
import type {ClassLayer, Layer} from "../grid/layer.ts";
import type {UnitValue} from "../lab/soil-test.ts";
import {normalProbability} from "../stats/normal-probability.ts";
import {formatNumber} from "../units/format.ts";
import type {Nutrient} from "../units/nutrient.ts";
import {applyPolicy, type Policy} from "./apply-policy.ts";
import type {PlannedCrop} from "./crop-years.ts";
import type {Guide} from "./guide.ts";
import {type RecommendOptions, recommend} from "./recommend.ts";
import type {Recommendation} from "./recommendation.ts";

export interface GridRatesInput {
  readonly nutrient: Nutrient;
  /** The interpolated soil test; what it was measured by and how deep goes with it. */
  readonly test: Layer;
  readonly testFacts: Pick<UnitValue, "analyte" | "unit" | "method" | "depthM">;
  /** Standard error of the interpolated test, in its unit, on the same grid. */
  readonly testError?: Layer;
  /** CEC on the same grid, for guides that need it; `options.cecMeq` serves as well. */
  readonly cec?: Layer;
  readonly crops: readonly PlannedCrop[];
  readonly options?: RecommendOptions;
  /** What the user decided over the guide; settings of single units mean nothing here. */
  readonly policy?: Policy;
}

export interface GridRates {
  /** lb of oxide per acre; NaN where the test or a needed CEC is. */
  readonly rate: Layer;
  readonly testClass: ClassLayer;
  /** Probability of each class, in the order of `testClass.classes`, 0 to 1; empty without a standard error. */
  readonly classProbability: readonly Layer[];
  /** Probability that the cell's class is the one it was given; absent without a standard error. */
  readonly certainty?: Layer;
  readonly issues: readonly Issue[];
}

/**
 * Rates between samples: the guide evaluated on every cell of an interpolated soil test.
 *
 * Each cell gets exactly what `recommend` gives its value; nothing is smoothed, so a guide's steps become cliffs on the
 * map. Class probabilities take the error of the interpolation to be normal and the guide's limits to be exact. Negative
 * interpolated values count as zero, with an issue.
 *
 * @throws {FieldError} those of `recommend`, `recommend/grids-differ` when the layers are not on one grid,
 *   `recommend/convert-first` when a conversion between methods is asked for.
 */
export function gridRates(guide: Guide, input: GridRatesInput): GridRates {
  const {nutrient, test, testFacts, testError, cec, crops} = input;
  const {grid} = test;
  if (input.options?.convertMethod) {
    throw new FieldError(
      "recommend/convert-first",
      "An interpolated soil test cannot be converted to another method.",
      {
        hint: "Convert the samples, then interpolate; or use a guide made for the test in hand.",
      },
    );
  }
  for (const layer of [testError, cec]) if (layer) checkGrid(grid, layer);
  const size = test.values.length;
  const rate = new Float64Array(size).fill(Number.NaN);
  const classes = new Float64Array(size).fill(Number.NaN);
  const certainty = new Float64Array(size).fill(Number.NaN);
  const probability: Float64Array[] = [];
  let names: readonly string[] = [];
  let below = 0;
  const factor = unitFactor(guide, input);
  for (let i = 0; i < size; i++) {
    const measured = test.values[i] as number;
    const soil = cec ? (cec.values[i] as number) : Number.NaN;
    if (Number.isNaN(measured) || (cec && Number.isNaN(soil))) continue;
    if (measured < 0) below++;
    const value = Math.max(0, measured);
    const found = recommendCell(guide, input, value, soil);
    const {classLimits, testClass} = found;
    if (!classLimits) throw new Error(`${guide.id} gives no class limits`);
    names = classLimits.names;
    const index = names.indexOf(testClass);
    rate[i] = found.rateLbPerAcre;
    classes[i] = index;
    const error = testError ? (testError.values[i] as number) : Number.NaN;
    if (Number.isNaN(error)) continue;
    const shares = classShares(
      classLimits.upTo.map((limit) => limit / factor),
      value,
      error,
      index,
    );
    shares.forEach((share, k) => {
      probability[k] ??= new Float64Array(size).fill(Number.NaN);
      (probability[k] as Float64Array)[i] = share;
    });
    certainty[i] = shares[index] as number;
  }
  const make = (id: string, label: string, unit: string, values: Float64Array): Layer => ({
    id: `${nutrient.toLowerCase()}-${id}`,
    label,
    unit,
    grid,
    values,
    madeFrom: {
      step: "recommend/grid",
      inputs: [test.id, ...(testError ? [testError.id] : []), ...(cec ? [cec.id] : [])],
      options: {guide: guide.id, nutrient, test: testFacts, crops, ...input.options},
    },
  });
  const classUnit = make("class", `${nutrient} class, ${guide.cite}`, "class", classes);
  return {
    rate: make("rate", `${nutrient} by ${guide.cite}`, `lb ${nutrient}/ac`, rate),
    testClass: {...classUnit, unit: "class", classes: names},
    classProbability: probability.map((values, k) =>
      make(`class-${k + 1}`, `probability of "${names[k]}"`, "1", values),
    ),
    ...(testError && {certainty: make("certainty", "probability that the class is right", "1", certainty)}),
    issues: below === 0 ? [] : [belowZero(below)],
  };
}

/** The guide's recommendation for one soil. */
function recommendCell(
  guide: Guide,
  {nutrient, testFacts, cec, crops, options, policy}: GridRatesInput,
  value: number,
  soil: number,
): Recommendation {
  const tests: UnitValue[] = [{...testFacts, value, from: "interpolated"}];
  if (cec) {
    tests.push({
      analyte: "CEC",
      value: soil,
      unit: "meq/100 g",
      method: "sum of cations",
      depthM: testFacts.depthM,
      from: "interpolated",
    });
  }
  const [made] = recommend(guide, {unit: "cell", tests, crops, options: {...options, nutrients: [nutrient]}});
  if (!made) throw new Error("no recommendation for a cell");
  return policy ? applyPolicy(made, policy) : made;
}

/** What turns the layer's unit into the guide's. */
function unitFactor(guide: Guide, {nutrient, testFacts}: GridRatesInput): number {
  const alsoIn = guide.nutrients.find((rule) => rule.nutrient === nutrient)?.test.alsoIn;
  return alsoIn && testFacts.unit === alsoIn.unit ? alsoIn.factor : 1;
}

/** Probability of each class when the true value is normal about the interpolated one. */
function classShares(upTo: readonly number[], value: number, error: number, index: number): number[] {
  // Without error the class is certain, on whichever side of a limit the guide puts it.
  if (!(error > 0)) return [...upTo, 0].map((_, k) => (k === index ? 1 : 0));
  const until = upTo.map((limit) => normalProbability((limit - value) / error));
  return [...until, 1].map((p, k) => p - (k === 0 ? 0 : (until[k - 1] as number)));
}

function checkGrid(grid: Grid, layer: Layer): void {
  if (sameGrid(grid, layer.grid)) return;
  throw new FieldError("recommend/grids-differ", `Layer "${layer.label}" is on another grid than the soil test.`, {
    hint: "Make both on the same grid.",
  });
}

function belowZero(cells: number): Issue {
  return {
    code: "recommend/interpolated-below-zero",
    severity: "note",
    message: `${formatNumber(cells)} cells were interpolated below zero and count as zero.`,
  };
}
