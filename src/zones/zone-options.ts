import {FieldError} from "../errors.ts";
import {SQUARE_METRES_PER_ACRE} from "../units/factors.ts";
import {type Metres, metres, type SquareMetres, squareMetres} from "../units/quantity.ts";
import type {Theme} from "./feature-matrix.ts";

export interface ZoneOptions {
  /** Zones wanted, 1 to 12. Default 4. */
  readonly count?: number | undefined;
  /** Smallest piece of a zone. Default 2 ac, in fields under 40 ac a twentieth of the field, but at least 0.5 ac. */
  readonly minArea?: SquareMetres | undefined;
  /** Least width of a zone. Default none; `minimumWidth` says what a machine needs. */
  readonly minWidth?: Metres | undefined;
  /** Share of the variance explained that a piece may cost to be merged away for a calmer map. Default 0: none. */
  readonly calm?: number | undefined;
  /** Reach (sigma) of the smoothing of memberships. Default 15 m, half of a 100 ft swath; 0 turns it off. */
  readonly smoothing?: Metres | undefined;
  /** Say of each theme. Default 1 each; 0 leaves a theme out. */
  readonly weights?: {readonly [T in Theme]?: number | undefined} | undefined;
  /** How kinds of ground are found: see `clusterCells`. Default k-means. */
  readonly method?: "k-means" | "fuzzy" | undefined;
  /** How layers are brought to one scale: see `featureMatrix`. Default clipped. */
  readonly scale?: "clipped" | "robust" | undefined;
  /** Leave out layers without any pattern. Default true. */
  readonly dropNoise?: boolean | undefined;
  /** Share of the variance that principal components keep, as in 0.9. Default: no components. */
  readonly components?: number | undefined;
  /** k-means starts, of which the best is kept. Default 10. */
  readonly restarts?: number | undefined;
  /** Rounds of one k-means run. Default 300. */
  readonly mostIterations?: number | undefined;
  /** Any whole number. Default 1. */
  readonly seed?: number | undefined;
}

export interface ZoneSettings {
  readonly count: number;
  readonly minArea: SquareMetres;
  readonly minWidth?: Metres;
  readonly calm?: number;
  readonly smoothing: Metres;
  readonly weights: Partial<Record<Theme, number>>;
  readonly method?: "k-means" | "fuzzy";
  readonly scale?: "clipped" | "robust";
  readonly dropNoise?: boolean;
  readonly components?: number;
  readonly restarts: number;
  readonly mostIterations: number;
  readonly seed: number;
}

/** Cells hold a zone in a byte, and a dozen zones are more than anyone samples. */
const MOST_ZONES = 12;

/**
 * Every option with a value.
 *
 * The default minimum area: of 15 to 20 cores in a zone of 30 to 40 ac one falls on about every 2 ac, so a smaller
 * piece would often go unsampled; it is also twice what a wide spreader can treat by itself (four times its swath of
 * 105 ft times the 110 ft it drives at 15 mph while the rate changes, 1.06 ac). Small fields have small zones: there a
 * twentieth of the field counts, down to the half acre below which a spreader cannot follow.
 *
 * @throws {FieldError} `zones/count`, `zones/option`.
 */
export function zoneSettings(fieldAreaM2: number, options: ZoneOptions): ZoneSettings {
  const {
    count = 4,
    minArea = defaultMinArea(fieldAreaM2),
    minWidth,
    calm,
    method,
    scale,
    dropNoise,
    components,
    smoothing = metres(15),
    restarts = 10,
    mostIterations = 300,
    seed = 1,
  } = options;
  if (!(Number.isInteger(count) && count >= 1 && count <= MOST_ZONES)) {
    throw new FieldError("zones/count", `${count} is not a number of zones.`, {
      hint: `Ask for 1 to ${MOST_ZONES} zones; 3 to 5 suit most fields.`,
    });
  }
  const weights = Object.fromEntries(
    Object.entries(options.weights ?? {}).filter(([, weight]) => weight !== undefined),
  ) as Partial<Record<Theme, number>>;
  check("smallest piece", minArea, minArea >= 0, "an area of 0 or more");
  if (minWidth !== undefined) check("least width", minWidth, minWidth >= 0, "a distance of 0 or more");
  if (calm !== undefined) check("calm", calm, calm >= 0 && calm <= 1, "a share from 0 to 1");
  check("smoothing", smoothing, smoothing >= 0, "a distance of 0 or more");
  check("number of restarts", restarts, Number.isInteger(restarts) && restarts >= 1, "a whole number of 1 or more");
  check(
    "number of iterations",
    mostIterations,
    Number.isInteger(mostIterations) && mostIterations >= 1,
    "a whole number of 1 or more",
  );
  check("seed", seed, Number.isInteger(seed), "a whole number");
  return {
    count,
    minArea,
    ...(minWidth !== undefined && {minWidth}),
    ...(calm !== undefined && {calm}),
    smoothing,
    weights,
    ...(method !== undefined && {method}),
    ...(scale !== undefined && {scale}),
    ...(dropNoise !== undefined && {dropNoise}),
    ...(components !== undefined && {components}),
    restarts,
    mostIterations,
    seed,
  };
}

function defaultMinArea(fieldAreaM2: number): SquareMetres {
  const acres = fieldAreaM2 / SQUARE_METRES_PER_ACRE;
  return squareMetres(Math.min(2, Math.max(0.5, acres / 20)) * SQUARE_METRES_PER_ACRE);
}

function check(name: string, value: number, good: boolean, want: string): void {
  if (good && Number.isFinite(value)) return;
  throw new FieldError("zones/option", `The ${name} for zones is ${value}.`, {hint: `Give ${want}.`});
}
