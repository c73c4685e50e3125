import type {Grid} from "../grid/grid.ts";
import {labelRegions, regionBorders} from "../grid/label-regions.ts";
import type {FeatureMatrix} from "./feature-matrix.ts";

type Rows = Pick<FeatureMatrix, "cells" | "values" | "dims">;

/**
 * Zone labels in fewer pieces: again and again the piece goes to a neighbour whose going costs the least of the
 * variance explained, as long as that is no more than `mostLoss`. The last piece of a zone stays.
 *
 * Exact: the loss is that of the sums of squares within zones. Ties go to the first piece, then the lowest label.
 *
 * @param mostLoss - Share of the total variance one piece may cost, 0 to 1; 0 returns a copy.
 */
export function calmLabels(grid: Grid, labels: Uint8Array, matrix: Rows, mostLoss: number): Uint8Array {
  const map = labels.slice();
  if (mostLoss === 0) return map;
  const total = squaresAboutMeans(matrix);
  for (;;) {
    const move = cheapestMove(grid, map, matrix);
    if (!move || !(move.loss <= mostLoss * total)) return map;
    for (const cell of move.cells) map[cell] = move.label;
  }
}

interface Move {
  readonly cells: Int32Array;
  readonly label: number;
  /** What the sum of squares within zones grows by. */
  readonly loss: number;
}

function cheapestMove(grid: Grid, labels: Uint8Array, matrix: Rows): Move | undefined {
  const regions = labelRegions(grid, labels);
  const borders = regionBorders(grid, regions);
  const ofRegion = new Sums(regions.labels.length, matrix.dims);
  const ofLabel = new Sums(256, matrix.dims);
  const pieces = new Int32Array(256);
  for (const label of regions.labels) pieces[label] = (pieces[label] as number) + 1;
  matrix.cells.forEach((cell, row) => {
    if (labels[cell] === 0) return;
    ofRegion.add(regions.owner[cell] as number, matrix.values, row);
    ofLabel.add(labels[cell] as number, matrix.values, row);
  });
  let best: {region: number; label: number; loss: number} | undefined;
  regions.labels.forEach((own, region) => {
    if (pieces[own] === 1) return;
    const around = new Set(
      [...(borders[region] as Map<number, number>).keys()].map((n) => regions.labels[n] as number),
    );
    for (const label of [...around].sort((a, b) => a - b)) {
      const loss = lossOf(ofRegion, region, ofLabel, own, label);
      if (loss < (best?.loss ?? Infinity)) best = {region, label, loss};
    }
  });
  if (!best) return undefined;
  const {region, label, loss} = best;
  return {cells: regions.owner.map((_, cell) => cell).filter((cell) => regions.owner[cell] === region), label, loss};
}

/** Numbers and sums of the values known, per group and column. */
class Sums {
  readonly count: Float64Array;
  readonly sum: Float64Array;
  readonly dims: number;

  constructor(groups: number, dims: number) {
    this.dims = dims;
    this.count = new Float64Array(groups * dims);
    this.sum = new Float64Array(groups * dims);
  }

  add(group: number, values: Float64Array, row: number): void {
    for (let c = 0; c < this.dims; c++) {
      const v = values[row * this.dims + c] as number;
      if (Number.isNaN(v)) continue;
      const at = group * this.dims + c;
      this.count[at] = (this.count[at] as number) + 1;
      this.sum[at] = (this.sum[at] as number) + v;
    }
  }
}

/** Moving a group between two others changes their squares by n·m/(n + m) times the squared gap of the means. */
function lossOf(regions: Sums, region: number, zones: Sums, from: number, to: number): number {
  const {dims} = regions;
  let loss = 0;
  for (let c = 0; c < dims; c++) {
    const n = regions.count[region * dims + c] as number;
    const sum = regions.sum[region * dims + c] as number;
    const apart = (count: number, total: number): number =>
      n > 0 && count > 0 ? ((n * count) / (n + count)) * (sum / n - total / count) ** 2 : 0;
    loss += apart(zones.count[to * dims + c] as number, zones.sum[to * dims + c] as number);
    loss -= apart((zones.count[from * dims + c] as number) - n, (zones.sum[from * dims + c] as number) - sum);
  }
  return loss;
}

function squaresAboutMeans({cells, values, dims}: Rows): number {
  const all = new Sums(1, dims);
  cells.forEach((_, row) => {
    all.add(0, values, row);
  });
  let squares = 0;
  for (let i = 0; i < values.length; i++) {
    const step = (values[i] as number) - (all.sum[i % dims] as number) / (all.count[i % dims] as number);
    if (!Number.isNaN(step)) squares += step * step;
  }
  return squares;
}
