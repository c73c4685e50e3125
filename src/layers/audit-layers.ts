import {coveragePct, within} from "../grid/coverage.ts";
import type {ClassLayer, Layer} from "../grid/layer.ts";
import {moran, rookNeighbours} from "../stats/moran.ts";
import {spearman} from "../stats/rank-correlation.ts";
import {type Description, describe} from "../stats/robust.ts";

/** What one layer holds inside the field. */
export interface LayerAudit {
  readonly id: string;
  readonly label: string;
  readonly unit: string;
  /** Percent of the field's cells that have data. */
  readonly coveragePct: number;
  /** Of a layer of numbers. */
  readonly spread?: Description;
  /** Likeness of cells that share an edge: near 1 smooth, near 0 noise. NaN for a constant layer. */
  readonly moransI?: number;
  /** Of a layer of classes: percent of the cells with data in each, largest first. */
  readonly classes?: readonly {readonly name: string; readonly pct: number}[];
}

export interface LayersAudit {
  readonly layers: readonly LayerAudit[];
  /** Spearman's rank correlation of every two layers of numbers, over cells that have both; rows as `ids`. */
  readonly correlation: {readonly ids: readonly string[]; readonly rows: readonly (readonly number[])[]};
}

/**
 * What layers hold before anything is made from them: coverage, spread, smoothness and how far they tell the same.
 *
 * @param mask - 1 for cells of the field.
 */
export function auditLayers(layers: readonly (Layer | ClassLayer)[], mask: Uint8Array): LayersAudit {
  const inField = layers.map((layer) => ({...layer, values: within(layer.values, mask)}));
  const numbers = inField.filter((layer) => !("classes" in layer));
  return {
    layers: inField.map((layer): LayerAudit => {
      const {id, label, unit, values, grid} = layer;
      const about = {id, label, unit, coveragePct: coveragePct(values, mask)};
      if ("classes" in layer) return {...about, classes: classShares(values, layer.classes as readonly string[])};
      return {...about, spread: describe(values), moransI: moran(values, rookNeighbours(values, grid.cols)).i};
    }),
    correlation: {
      ids: numbers.map(({id}) => id),
      rows: correlations(numbers.map(({values}) => values)),
    },
  };
}

function classShares(values: Float64Array, classes: readonly string[]): {name: string; pct: number}[] {
  const counts = classes.map(() => 0);
  let known = 0;
  for (const value of values) {
    if (Number.isNaN(value)) continue;
    known++;
    counts[value] = (counts[value] ?? 0) + 1;
  }
  return classes
    .map((name, i) => ({name, pct: (100 * (counts[i] ?? 0)) / known}))
    .filter(({pct}) => pct > 0)
    .sort((a, b) => b.pct - a.pct);
}

function correlations(columns: readonly Float64Array[]): number[][] {
  const rows = columns.map(() => columns.map(() => 1));
  columns.forEach((a, i) => {
    columns.slice(0, i).forEach((b, j) => {
      const r = spearman(a, b);
      (rows[i] as number[])[j] = r;
      (rows[j] as number[])[i] = r;
    });
  });
  return rows;
}
