import {FieldError, type Issue} from "../errors.ts";
import type {ClassLayer} from "../grid/layer.ts";
import {mad, median, quantile} from "../stats/robust.ts";
import {formatNumber} from "../units/format.ts";
import type {SeasonAverage} from "./seasons.ts";

/**
 * When ground counts as unstable: a spread above so many percent of the cell's mean, or above a limit taken from the
 * field itself.
 */
export type UnstableAbove = {readonly cvPct: number} | "median + MAD" | "upper quartile";

export interface StabilityOptions {
  /** Default: a coefficient of variation over seasons above 30 %; for z-scores, which have none, "median + MAD". */
  readonly unstableAbove?: UnstableAbove;
  /** Cells with fewer seasons have no class. Default 3. */
  readonly leastSeasons?: number;
}

export interface SeasonStability {
  readonly classes: ClassLayer;
  /** Percent of the cells that have a class, in the order of `STABILITY_CLASSES`. */
  readonly sharesPct: readonly number[];
  /** The limit that was used: percent of the mean for a coefficient of variation, else in the unit of the spread. */
  readonly limit: number;
  readonly issues: readonly Issue[];
}

export const STABILITY_CLASSES = ["high and stable", "low and stable", "unstable"] as const;

const USUAL_CV_PCT = 30;
const USUAL_SEASONS = 3;
/** With less unstable ground than this a fixed limit says nothing of this field. */
const NEXT_TO_NONE_PCT = 1;

/**
 * Ground that yields well in most seasons, ground that yields poorly in most, and ground that changes.
 *
 * A cell is unstable when its spread over the seasons is above the limit; else high from the mean of the field up
 * (100 %, or a z-score of 0), else low. A fixed limit of 30 % leaves next to nothing unstable in many fields (0 to 3 %
 * in the field it was first used on), so limits from the field itself can be asked for: those always set some apart,
 * also where all of it is steady.
 *
 * Source: spatial trend and temporal stability in three classes, Blackmore (2000) (abstract; the 100 % and the 30 %
 * from memory). "median + MAD" and "upper quartile" are our own.
 *
 * @throws {FieldError} `seasons/too-few` with fewer seasons than asked for; `seasons/no-cv` for a limit in percent of
 *   the mean on z-scores, whose mean is nothing.
 */
export function seasonStability(
  {mean, spread, seasons, correlation}: SeasonAverage,
  options: StabilityOptions = {},
): SeasonStability {
  const zScored = mean.unit === "sd";
  const {unstableAbove = zScored ? "median + MAD" : {cvPct: USUAL_CV_PCT}, leastSeasons = USUAL_SEASONS} = options;
  if (correlation.length < Math.max(2, leastSeasons)) {
    throw new FieldError(
      "seasons/too-few",
      `There are ${correlation.length} seasons of yield; stability needs ${Math.max(2, leastSeasons)}.`,
      {hint: "Add seasons, or leave stability out until there are more."},
    );
  }
  if (zScored && typeof unstableAbove === "object") {
    throw new FieldError("seasons/no-cv", "Z-scores have no coefficient of variation: their mean is nothing.", {
      hint: 'Use "median + MAD" or "upper quartile", or percent of mean.',
    });
  }
  const judged = (i: number): boolean =>
    (seasons[i] as number) >= leastSeasons && !Number.isNaN((mean.values[i] as number) + (spread.values[i] as number));
  const measure = spread.values.map((sd, i) => {
    if (!judged(i)) return Number.NaN;
    return typeof unstableAbove === "object" ? (100 * sd) / (mean.values[i] as number) : sd;
  });
  const limit = limitOf(measure, unstableAbove);
  const high = zScored ? 0 : 100;
  const counts = [0, 0, 0];
  const values = measure.map((value, i) => {
    if (Number.isNaN(value)) return Number.NaN;
    const index = value > limit ? 2 : (mean.values[i] as number) >= high ? 0 : 1;
    counts[index] = (counts[index] as number) + 1;
    return index;
  });
  const total = counts.reduce((a, b) => a + b, 0);
  const sharesPct = counts.map((count) => (100 * count) / total);
  return {
    classes: {
      id: "yield-stability",
      label: "Stability of yield over seasons",
      unit: "class",
      grid: mean.grid,
      values,
      classes: STABILITY_CLASSES,
      madeFrom: {
        step: "layers/season-stability",
        inputs: [mean.id, spread.id],
        options: {unstableAbove, leastSeasons, high, limit},
        found: {sharesPct: Object.fromEntries(STABILITY_CLASSES.map((name, i) => [name, round(sharesPct[i])]))},
      },
    },
    sharesPct,
    limit,
    issues: stabilityIssues(sharesPct, unstableAbove, values.length > 0 ? total : 0),
  };
}

function limitOf(measure: Float64Array, unstableAbove: UnstableAbove): number {
  if (typeof unstableAbove === "object") return unstableAbove.cvPct;
  return unstableAbove === "upper quartile" ? quantile(measure, 0.75) : median(measure) + mad(measure);
}

function stabilityIssues(sharesPct: readonly number[], unstableAbove: UnstableAbove, cells: number): Issue[] {
  if (cells === 0) {
    return [
      {
        code: "seasons/no-stability",
        severity: "warning",
        message: "No part of the field was harvested in enough of the seasons to tell how steady it yields.",
        hint: "Check that the logs of every season cover the field.",
      },
    ];
  }
  const unstable = sharesPct[2] as number;
  if (typeof unstableAbove !== "object" || unstable >= NEXT_TO_NONE_PCT) return [];
  return [
    {
      code: "seasons/all-stable",
      severity: "note",
      message: `Only ${formatNumber(unstable, 1)} % of the field varies by more than ${unstableAbove.cvPct} % of its mean over the seasons.`,
      hint: 'Use "median + MAD" to set the less steady ground of this field apart.',
    },
  ];
}

const round = (value: number | undefined): number => Math.round(10 * (value ?? 0)) / 10;
