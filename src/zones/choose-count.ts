import {FieldError, type Issue} from "../errors.ts";
import type {Field} from "../geo/field.ts";
import {areaM2} from "../geo/measure.ts";
import type {Grid} from "../grid/grid.ts";
import type {Layer} from "../grid/layer.ts";
import {SQUARE_METRES_PER_ACRE} from "../units/factors.ts";
import {type SquareMetres, squareMetres} from "../units/quantity.ts";
import {type Costed, costed, type Recommendation, recommendCount} from "./choose-rule.ts";
import {countRows} from "./count-rows.ts";
import {isNoise} from "./drop-noise.ts";
import {type Feature, type FeatureOptions, featureMatrix} from "./feature-matrix.ts";
import {type ZoneOptions, zoneSettings} from "./zone-options.ts";

/** A layer kept back, and the features that were made without it: for a season, yield averaged over the others. */
export interface KeptBackLayer {
  readonly layer: Layer;
  readonly features: readonly Feature[];
}

export interface SamplingCosts {
  /** Dollars per composite: its cores and its lab analysis. */
  readonly composite?: number | undefined;
  /** Most dollars for one round of sampling. */
  readonly budget?: number | undefined;
  /** Largest area for one composite. Default 40 ac. */
  readonly maxArea?: SquareMetres | undefined;
}

export interface CountOptions extends Omit<ZoneOptions, "count"> {
  /** Most zones to try, 2 to 12. Default 8. */
  readonly most?: number | undefined;
  readonly sampling?: SamplingCosts | undefined;
  /** Zone maps laid by chance for each count. Default 99: p is then known to 0.01. */
  readonly draws?: number | undefined;
  /** Instead of those among the zone options. */
  readonly features?: FeatureOptions | undefined;
}

export interface CountChoice {
  /** One zone, then two and so on, as far as the layers tell kinds of ground apart. */
  readonly rows: readonly Costed[];
  /** Layers kept back; when none was, counts are compared by how well one half of the field foretells the other. */
  readonly keptBack: readonly string[];
  readonly recommended: Recommendation;
  readonly issues: readonly Issue[];
  readonly options: {
    readonly most: number;
    readonly draws: number;
    readonly minArea: SquareMetres;
    readonly maxArea: SquareMetres;
    readonly composite?: number;
    readonly budget?: number;
  };
}

/**
 * How many zones to make of a field, one among them: indices of each count, what it explains of layers kept back, what
 * tidying leaves of it, what sampling it costs, and a recommendation in a sentence.
 *
 * Not proof that zones help: see `judgeZones`. Where nothing was kept back it says so.
 *
 * @param input.keptBack - Each season with the features made without it. None: halves of the field.
 * @throws {FieldError} `zones/counts`, and those of `featureMatrix`.
 *
 * Randomness: `options.seed`. Rule, limits and sources: docs/methods/choosing-zones.md.
 */
export function chooseCount(input: ChoiceInput, options: CountOptions = {}): CountChoice {
  const choosing = choosingCount(input, options);
  let next = choosing.next();
  while (!next.done) next = choosing.next();
  return next.value;
}

export interface ChoiceInput {
  readonly field: Field;
  readonly grid: Grid;
  readonly features: readonly Feature[];
  readonly keptBack?: readonly KeptBackLayer[];
}

/** `chooseCount` with a halt after each count, for those who want to stop on the way. */
export function* choosingCount(
  {field, grid, features, keptBack = []}: ChoiceInput,
  options: CountOptions = {},
): Generator<void, CountChoice> {
  const {most = 8, draws = 99, sampling = {}, features: featureOptions, ...zoneOptions} = options;
  checkOptions(most, draws, sampling);
  const settings = {...zoneSettings(areaM2(field.outline), {...zoneOptions, count: most}), draws};
  const {minArea, weights} = settings;
  const scaling = {...settings, ...featureOptions};
  const {maxArea = squareMetres(40 * SQUARE_METRES_PER_ACRE), composite, budget} = sampling;
  const matrix = featureMatrix(field, grid, features, weights, scaling);
  const without = keptBack.map(({layer, features: others}) => ({
    layer,
    matrix: featureMatrix(field, grid, others, weights, scaling),
  }));
  const counts = Array.from({length: most - 1}, (_, i) => i + 2);
  const rows: Costed[] = [];
  for (const row of countRows(grid, matrix, without, counts, settings)) {
    rows.push(costed(row, maxArea, composite));
    yield;
  }
  const onlyNoise =
    matrix.patterns.length > 0 &&
    matrix.used.every(({layer}) => matrix.patterns.some((pattern) => pattern.id === layer.id && isNoise(pattern)));
  return {
    rows,
    keptBack: keptBack.map(({layer}) => layer.label),
    recommended: recommendCount(rows, {minArea, budget, onlyNoise, independent: keptBack.length > 0}),
    issues: matrix.issues,
    options: {
      most,
      draws,
      minArea,
      maxArea,
      ...(composite !== undefined && {composite}),
      ...(budget !== undefined && {budget}),
    },
  };
}

function checkOptions(most: number, draws: number, {composite, budget, maxArea}: SamplingCosts): void {
  if (!(Number.isInteger(most) && most >= 2 && most <= 12)) {
    throw new FieldError("zones/counts", `${most} is not a largest number of zones to try.`, {hint: "Give 2 to 12."});
  }
  if (!(Number.isInteger(draws) && draws >= 19 && draws <= 9999)) {
    throw new FieldError("zones/counts", `${draws} is not a number of zone maps to lay by chance.`, {
      hint: "Give 19 to 9,999; 99 tell p to 0.01.",
    });
  }
  for (const [name, value] of Object.entries({"price of a composite": composite, "sampling budget": budget})) {
    if (value !== undefined && !(value >= 0 && Number.isFinite(value))) {
      throw new FieldError("zones/counts", `The ${name} is ${value}.`, {hint: "Give dollars, 0 or more."});
    }
  }
  if (maxArea !== undefined && !(maxArea > 0)) {
    throw new FieldError("zones/counts", `The largest area for one composite is ${maxArea}.`, {
      hint: "Give an area above 0.",
    });
  }
}
