import type {Feature, FeatureMatrix, Theme} from "./feature-matrix.ts";
import type {Columns} from "./theme-columns.ts";

/** What a layer brings to the distances that zones are made by. */
export interface ClusteringShare {
  readonly id: string;
  readonly label: string;
  readonly theme: Theme;
  /** Share of the field's cells that have it, 0 to 1. */
  readonly coverage: number;
  /** Share of the total variance of all weighted columns that is this layer's, 0 to 1. */
  readonly share: number;
}

/** Columns side by side, each times the root of its layer's say: squared distances then weigh layers as wished. */
export function weighted(
  used: readonly Columns[],
  rows: number,
  weights: Partial<Record<Theme, number>>,
): Pick<FeatureMatrix, "dims" | "values" | "present" | "weight"> {
  const inTheme = new Map<Theme, number>();
  for (const {feature} of used) {
    inTheme.set(feature.theme, (inTheme.get(feature.theme) ?? 0) + (feature.weight ?? 1));
  }
  let weight = 0;
  for (const theme of inTheme.keys()) weight += weights[theme] ?? 1;
  const dims = used.reduce((sum, {columns}) => sum + columns.length, 0);
  const values = new Float64Array(rows * dims);
  const present = new Float64Array(rows);
  let at = 0;
  for (const {feature, columns} of used) {
    const {theme, weight: own = 1} = feature;
    const say = ((weights[theme] ?? 1) * own) / (inTheme.get(theme) as number);
    const factor = Math.sqrt(say);
    for (let i = 0; i < rows; i++) {
      columns.forEach((column, c) => {
        values[i * dims + at + c] = factor * (column[i] as number);
      });
      if (!Number.isNaN(columns[0]?.[i])) present[i] = (present[i] as number) + say / weight;
    }
    at += columns.length;
  }
  return {dims, values, present, weight};
}

/**
 * The share of the total weighted variance each layer carries: what in truth drives the zones.
 *
 * Of numeric layers alone it is the weights over their sum. A class layer carries less when one class prevails, and a
 * layer on the robust scale more when its tails are long.
 */
export function clusteringShares(matrix: FeatureMatrix): ClusteringShare[] {
  const {dims, values, cells, used, columns} = matrix;
  let at = 0;
  const found = used.map(({layer, theme}: Feature, u) => {
    let variance = 0;
    let known = 0;
    for (let c = at; c < at + (columns[u] as number); c++) {
      const column = Float64Array.from(cells, (_, i) => values[i * dims + c] as number).filter((v) => !Number.isNaN(v));
      known = column.length;
      variance += varianceOf(column);
    }
    at += columns[u] as number;
    return {id: layer.id, label: layer.label, theme, coverage: known / cells.length, variance};
  });
  const total = found.reduce((sum, {variance}) => sum + variance, 0);
  return found.map(({variance, ...of}) => ({...of, share: variance / total}));
}

function varianceOf(values: Float64Array): number {
  let mean = 0;
  for (const v of values) mean += v / values.length;
  let squares = 0;
  for (const v of values) squares += (v - mean) ** 2;
  return squares / values.length;
}
