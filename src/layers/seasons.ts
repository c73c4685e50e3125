import type {Issue} from "../errors.ts";
import {sameGrid} from "../grid/grid.ts";
import type {Layer} from "../grid/layer.ts";
import {spearman} from "../stats/rank-correlation.ts";
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

/**
 * A season as percent of its field mean: seasons and crops become comparable, and a season that varied little stays
 * flat (unlike z-scores, which would blow its noise up).
 *
 * @param groups - One label per cell, where strips of the field had different crops. Default one group.
 */
export function normaliseSeason(
  layer: Layer,
  groups?: ArrayLike<number | string>,
): {layer: Layer<"% of mean">; issues: readonly Issue[]} {
  const issues: Issue[] = [];
  const values = percentOfGroupMean(layer.values, groups ?? new Uint8Array(layer.values.length), issues);
  const relative: Layer<"% of mean"> = {
    id: `${layer.id}-relative`,
    label: `${layer.label}, relative`,
    unit: "% of mean",
    grid: layer.grid,
    values,
    madeFrom: {step: "layers/normalise-season", inputs: [layer.id], options: {grouped: groups !== undefined}},
  };
  return {layer: relative, issues};
}

export interface SeasonAverage {
  /** Mean over the seasons that have the cell. */
  readonly mean: Layer<"% of mean">;
  /** Standard deviation over seasons (n − 1): how little a cell's rank can be relied on. NaN under two seasons. */
  readonly spread: Layer<"% of mean">;
  /** Spearman's rank correlation of each pair of seasons, in order of the input; 1 on the diagonal. */
  readonly correlation: readonly (readonly number[])[];
  /** Mean over pairs; NaN for one season. */
  readonly meanCorrelation: number;
  readonly issues: readonly Issue[];
}

/**
 * The lasting pattern of several seasons: per cell the mean and the spread of percent of mean.
 *
 * A season that covers part of the field is first re-levelled against the others on the ground they share, so that
 * having been harvested on the good half only does not pull that half down (ratio fit of cells and seasons by
 * alternation). Seasons that cover the same cells are not changed by it. Cells with fewer than half of the seasons
 * are NaN.
 *
 * Source: relative yield and its spread over years, Blackmore (2000) and Blackmore, Godwin and Fountas (2003).
 *
 * @param layers - Percent of mean, from `normaliseSeason`, all on one grid.
 */
export function averageSeasons(layers: readonly Layer<"% of mean">[]): SeasonAverage {
  const first = layers[0];
  if (!first) throw new Error("averageSeasons needs at least one season");
  if (!layers.every((layer) => sameGrid(layer.grid, first.grid))) throw new Error("seasons are on different grids");
  const cells = first.values.length;
  const needed = Math.max(1, Math.ceil(layers.length / 2));
  const levels = seasonLevels(layers, needed);
  const mean = new Float64Array(cells).fill(Number.NaN);
  const spread = new Float64Array(cells).fill(Number.NaN);
  for (let i = 0; i < cells; i++) {
    const known = layers.flatMap((layer, t) => {
      const value = (layer.values[i] as number) / (levels[t] as number);
      return Number.isNaN(value) ? [] : [value];
    });
    if (known.length < needed) continue;
    const middle = known.reduce((a, b) => a + b, 0) / known.length;
    mean[i] = middle;
    if (known.length < 2) continue;
    spread[i] = Math.sqrt(known.reduce((a, b) => a + (b - middle) ** 2, 0) / (known.length - 1));
  }
  const correlation = correlations(layers);
  const pairs = correlation.flatMap((row, a) => row.slice(a + 1)).filter((r) => !Number.isNaN(r));
  const meanCorrelation = pairs.reduce((a, b) => a + b, 0) / pairs.length;
  const madeFrom = {
    step: "layers/average-seasons",
    inputs: layers.map(({id}) => id),
    options: {leastSeasons: needed, levels},
  };
  return {
    mean: {id: "yield-mean", label: "Mean relative yield", unit: "% of mean", grid: first.grid, values: mean, madeFrom},
    spread: {
      id: "yield-spread",
      label: "Spread of relative yield over seasons",
      unit: "% of mean",
      grid: first.grid,
      values: spread,
      madeFrom,
    },
    correlation,
    meanCorrelation,
    issues: seasonIssues(layers.length, meanCorrelation),
  };
}

/** Level of each season against the common pattern, 1 for all when they cover the same cells. */
function seasonLevels(layers: readonly Layer[], needed: number): number[] {
  const levels = layers.map(() => 1);
  const cells = layers[0]?.values.length ?? 0;
  for (let round = 0; round < MOST_ROUNDS; round++) {
    const sums = layers.map(() => ({own: 0, common: 0}));
    for (let i = 0; i < cells; i++) {
      let total = 0;
      let count = 0;
      layers.forEach(({values}, t) => {
        if (Number.isNaN(values[i] as number)) return;
        total += (values[i] as number) / (levels[t] as number);
        count++;
      });
      // A cell that one season alone has says nothing of the level between seasons.
      if (count < Math.max(2, needed)) continue;
      layers.forEach(({values}, t) => {
        const sum = sums[t] as {own: number; common: number};
        if (Number.isNaN(values[i] as number)) return;
        sum.own += values[i] as number;
        sum.common += total / count;
      });
    }
    let change = 0;
    sums.forEach(({own, common}, t) => {
      const next = common > 0 && own > 0 ? own / common : 1;
      change = Math.max(change, Math.abs(next - (levels[t] as number)));
      levels[t] = next;
    });
    if (change < 1e-9) break;
  }
  // Levels are relative to one another; the season with the most cells keeps its own 100 %.
  const sizes = layers.map(({values}) => values.reduce((n, v) => n + (Number.isNaN(v) ? 0 : 1), 0));
  const widest = levels[sizes.indexOf(Math.max(...sizes))] ?? 1;
  return levels.map((level) => level / widest);
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
