import type {Issue} from "../errors.ts";
import {sameGrid} from "../grid/grid.ts";
import type {Layer} from "../grid/layer.ts";
import {spearman} from "../stats/rank-correlation.ts";
import {describe} from "../stats/robust.ts";
import {formatNumber} from "../units/format.ts";

/** Groups smaller than this have no mean worth dividing by. */
const LEAST_IN_GROUP = 5;
/** Below this mean rank correlation one season says little of the next. Own threshold, no source. */
const LEAST_AGREEMENT = 0.2;
const MOST_ROUNDS = 200;

/**
 * Values as percent of the mean of their group: strips, crops or varieties that differ within one season.
 *
 * @param groups - One label per value.
 * @param issues - Gets a warning for each group too small or without a mean above zero; its values become NaN.
 */
export function percentOfGroupMean(
  values: Float64Array,
  groups: ArrayLike<number | string>,
  issues: Issue[] = [],
): Float64Array {
  const totals = new Map<number | string, {sum: number; count: number}>();
  for (let i = 0; i < values.length; i++) {
    if (!Number.isFinite(values[i] as number)) continue;
    const group = groups[i] as number | string;
    const total = totals.get(group) ?? {sum: 0, count: 0};
    total.sum += values[i] as number;
    total.count++;
    totals.set(group, total);
  }
  for (const [group, {sum, count}] of totals) {
    if (count >= LEAST_IN_GROUP && sum > 0) continue;
    totals.delete(group);
    issues.push({
      code: "seasons/group-dropped",
      severity: "warning",
      message:
        count < LEAST_IN_GROUP
          ? `Group "${group}" has ${count} values, too few for a mean; they were left out.`
          : `Group "${group}" has a mean of zero; its values were left out.`,
    });
  }
  return values.map((value, i) => {
    const total = totals.get(groups[i] as number | string);
    return total ? (100 * value * total.count) / total.sum : Number.NaN;
  });
}

/** How seasons are made comparable: percent of their mean, or standard deviations from it. */
export type SeasonScale = "percent of mean" | "z-score";

/** The unit of a layer on each scale. */
export type SeasonUnit = "% of mean" | "sd";

/**
 * Values as standard deviations (n − 1) from the mean of their group.
 *
 * Every season has an equal say on this scale, also one that was flat and noisy: percent of mean is the usual choice.
 *
 * @param issues - Gets a warning for each group too small or without any spread; its values become NaN.
 */
export function zScoresOfGroup(
  values: Float64Array,
  groups: ArrayLike<number | string>,
  issues: Issue[] = [],
): Float64Array {
  const members = new Map<number | string, number[]>();
  for (let i = 0; i < values.length; i++) {
    if (!Number.isFinite(values[i] as number)) continue;
    const list = members.get(groups[i] as number | string);
    if (list) list.push(i);
    else members.set(groups[i] as number | string, [i]);
  }
  const scores = new Float64Array(values.length).fill(Number.NaN);
  for (const [group, list] of members) {
    const {mean, sd} = describe(Float64Array.from(list, (i) => values[i] as number));
    if (list.length < LEAST_IN_GROUP || !(sd > 0)) {
      issues.push({
        code: "seasons/group-dropped",
        severity: "warning",
        message:
          list.length < LEAST_IN_GROUP
            ? `Group "${group}" has ${list.length} values, too few for a mean; they were left out.`
            : `Group "${group}" is the same everywhere; its values were left out.`,
      });
      continue;
    }
    for (const i of list) scores[i] = ((values[i] as number) - mean) / sd;
  }
  return scores;
}

/**
 * A season as percent of its field mean: seasons and crops become comparable, and a season that varied little stays
 * flat (unlike z-scores, which would blow its noise up).
 *
 * @param groups - One label per cell, where strips of the field had different crops. Default one group.
 * @param scale - Default percent of mean.
 */
export function normaliseSeason(
  layer: Layer,
  groups?: ArrayLike<number | string>,
): {layer: Layer<"% of mean">; issues: readonly Issue[]};
export function normaliseSeason(
  layer: Layer,
  groups: ArrayLike<number | string> | undefined,
  scale: SeasonScale,
): {layer: Layer<SeasonUnit>; issues: readonly Issue[]};
export function normaliseSeason(
  layer: Layer,
  groups?: ArrayLike<number | string>,
  scale: SeasonScale = "percent of mean",
): {layer: Layer<SeasonUnit>; issues: readonly Issue[]} {
  const issues: Issue[] = [];
  const zScored = scale === "z-score";
  const compare = zScored ? zScoresOfGroup : percentOfGroupMean;
  const relative: Layer<SeasonUnit> = {
    id: `${layer.id}-relative`,
    label: `${layer.label}, relative`,
    unit: zScored ? "sd" : "% of mean",
    grid: layer.grid,
    values: compare(layer.values, groups ?? new Uint8Array(layer.values.length), issues),
    madeFrom: {
      step: "layers/normalise-season",
      inputs: [layer.id],
      options: {grouped: groups !== undefined, ...(zScored && {scale})},
    },
  };
  return {layer: relative, issues};
}

export interface SeasonAverage<U extends SeasonUnit = SeasonUnit> {
  /** Mean over the seasons that have the cell. */
  readonly mean: Layer<U>;
  /** Standard deviation over seasons (n − 1): how little a cell's rank can be relied on. NaN under two seasons. */
  readonly spread: Layer<U>;
  /** Seasons that have the cell. */
  readonly seasons: Uint8Array;
  /** Spearman's rank correlation of each pair of seasons, in order of the input; 1 on the diagonal. */
  readonly correlation: readonly (readonly number[])[];
  /** Mean over pairs; NaN for one season. */
  readonly meanCorrelation: number;
  readonly issues: readonly Issue[];
}

/**
 * The lasting pattern of several seasons: per cell the mean and the spread of percent of mean, or of z-scores.
 *
 * A season that covers part of the field is first re-levelled against the others on the ground they share, so that
 * having been harvested on the good half only does not pull that half down (a fit of cells and seasons by alternation:
 * a ratio for percent of mean, a difference for z-scores). Seasons that cover the same cells are not changed by it.
 * Cells with fewer than half of the seasons are NaN.
 *
 * Source: relative yield and its spread over years, Blackmore (2000) and Blackmore, Godwin and Fountas (2003).
 *
 * @param layers - All from `normaliseSeason` on one scale, all on one grid.
 */
export function averageSeasons<U extends SeasonUnit>(layers: readonly Layer<U>[]): SeasonAverage<U> {
  const first = layers[0];
  if (!first) throw new Error("averageSeasons needs at least one season");
  if (!layers.every((layer) => sameGrid(layer.grid, first.grid))) throw new Error("seasons are on different grids");
  if (!layers.every(({unit}) => unit === first.unit)) throw new Error("seasons are on different scales");
  const cells = first.values.length;
  const needed = Math.max(1, Math.ceil(layers.length / 2));
  const level: Level = first.unit === "sd" ? BY_DIFFERENCE : BY_RATIO;
  const levels = seasonLevels(layers, needed, level);
  const mean = new Float64Array(cells).fill(Number.NaN);
  const spread = new Float64Array(cells).fill(Number.NaN);
  const seasons = new Uint8Array(cells);
  const known = new Float64Array(layers.length);
  for (let i = 0; i < cells; i++) {
    let count = 0;
    let sum = 0;
    layers.forEach(({values}, t) => {
      const value = level.apply(values[i] as number, levels[t] as number);
      if (Number.isNaN(value)) return;
      known[count++] = value;
      sum += value;
    });
    seasons[i] = count;
    if (count < needed) continue;
    const middle = sum / count;
    mean[i] = middle;
    if (count < 2) continue;
    let squares = 0;
    for (let t = 0; t < count; t++) squares += ((known[t] as number) - middle) ** 2;
    spread[i] = Math.sqrt(squares / (count - 1));
  }
  const correlation = correlations(layers);
  const pairs = correlation.flatMap((row, a) => row.slice(a + 1)).filter((r) => !Number.isNaN(r));
  const meanCorrelation = pairs.reduce((a, b) => a + b, 0) / pairs.length;
  const madeFrom = {
    step: "layers/average-seasons",
    inputs: layers.map(({id}) => id),
    options: {leastSeasons: needed, levels},
  };
  const {grid, unit} = first;
  return {
    mean: {id: "yield-mean", label: "Mean relative yield", unit, grid, values: mean, madeFrom},
    spread: {
      ...{id: "yield-spread", label: "Spread of relative yield over seasons"},
      ...{unit, grid, values: spread, madeFrom},
    },
    seasons,
    correlation,
    meanCorrelation,
    issues: seasonIssues(layers.length, meanCorrelation),
  };
}

/** How a season's level against the others is taken off a value, and found from sums over shared cells. */
interface Level {
  readonly none: number;
  readonly apply: (value: number, level: number) => number;
  readonly find: (sums: {readonly own: number; readonly common: number; readonly count: number}) => number;
}

const BY_RATIO: Level = {
  none: 1,
  apply: (value, level) => value / level,
  find: ({own, common}) => (common > 0 && own > 0 ? own / common : 1),
};
const BY_DIFFERENCE: Level = {
  none: 0,
  apply: (value, level) => value - level,
  find: ({own, common, count}) => (count > 0 ? (own - common) / count : 0),
};

/** Level of each season against the common pattern; none for all when they cover the same cells. */
function seasonLevels(layers: readonly Layer[], needed: number, level: Level): number[] {
  const levels = layers.map(() => level.none);
  const cells = layers[0]?.values.length ?? 0;
  for (let round = 0; round < MOST_ROUNDS; round++) {
    const sums = layers.map(() => ({own: 0, common: 0, count: 0}));
    for (let i = 0; i < cells; i++) {
      let total = 0;
      let count = 0;
      layers.forEach(({values}, t) => {
        if (Number.isNaN(values[i] as number)) return;
        total += level.apply(values[i] as number, levels[t] as number);
        count++;
      });
      // A cell that one season alone has says nothing of the level between seasons.
      if (count < Math.max(2, needed)) continue;
      layers.forEach(({values}, t) => {
        const sum = sums[t] as {own: number; common: number; count: number};
        if (Number.isNaN(values[i] as number)) return;
        sum.own += values[i] as number;
        sum.common += total / count;
        sum.count++;
      });
    }
    let change = 0;
    sums.forEach((sum, t) => {
      const next = level.find(sum);
      change = Math.max(change, Math.abs(next - (levels[t] as number)));
      levels[t] = next;
    });
    if (change < 1e-9) break;
  }
  // Levels are relative to one another; the season with the most cells keeps its own.
  const sizes = layers.map(({values}) => values.reduce((n, v) => n + (Number.isNaN(v) ? 0 : 1), 0));
  const widest = levels[sizes.indexOf(Math.max(...sizes))] ?? level.none;
  return levels.map((own) => level.apply(own, widest));
}

function correlations(layers: readonly Layer[]): number[][] {
  const table = layers.map(() => layers.map(() => 1));
  for (let a = 0; a < layers.length; a++) {
    for (let b = a + 1; b < layers.length; b++) {
      const r = spearman((layers[a] as Layer).values, (layers[b] as Layer).values);
      (table[a] as number[])[b] = r;
      (table[b] as number[])[a] = r;
    }
  }
  return table;
}

function seasonIssues(seasons: number, agreement: number): Issue[] {
  if (seasons === 1) {
    return [
      {
        code: "seasons/one-season",
        severity: "note",
        message: "There is one season of yield: nothing tells what of its pattern lasts.",
        hint: "Add seasons as they come; three or more show what lasts.",
      },
    ];
  }
  if (!(agreement < LEAST_AGREEMENT)) return [];
  return [
    {
      code: "seasons/disagree",
      severity: "warning",
      message: `The seasons rank the ground differently (mean rank correlation ${formatNumber(agreement, 2)}): where one year yields well says little about the next.`,
      hint: "Do not build zones on yield alone here; give soil map and terrain more weight, or add seasons.",
    },
  ];
}
