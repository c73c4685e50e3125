import type {Issue} from "../errors.ts";
import {coveragePct} from "../grid/coverage.ts";
import {cellAt, cellCount, type Grid} from "../grid/grid.ts";
import {inverseDistance} from "../grid/inverse-distance.ts";
import type {Layer} from "../grid/layer.ts";
import {indexesWhere, pick} from "../stats/pick.ts";
import {indexPoints} from "../stats/point-index.ts";
import {typicalOf} from "../stats/robust.ts";
import {formatArea, formatNumber} from "../units/format.ts";
import type {CleanedYield} from "./clean-yield.ts";
import {gridPoints} from "./grid-points.ts";
import {type DenseKriging, krigeDense} from "./interpolate/krige-dense.ts";
import {usualSpacingM} from "./interpolate/usual-spacing.ts";
import {percentOfGroupMean} from "./seasons.ts";

export interface GridYieldOptions {
  /** Share of a cell's values left out at each end before the mean. Default 0.2. */
  readonly trim?: number;
  /** Cells without a record of their own are filled from records this near, in swaths. Default 1.5. */
  readonly fillSwaths?: number;
  /**
   * One label per record where strips or crops differ within the season: yields become percent of their label's
   * mean, which takes the crop out of the map.
   */
  readonly groups?: ArrayLike<number | string>;
  /**
   * "cell mean" (default): what was cut on a cell. "kriged": block kriging of the records with the nugget taken for
   * noise, which smooths by as much as the log is noisy and tells its own error.
   */
  readonly surface?: "cell mean" | "kriged";
  /** For the records the variogram is drawn from. Default 1. */
  readonly seed?: number;
}

export interface GriddedYield {
  readonly layer: Layer<"t/ha"> | Layer<"% of mean">;
  /** Records whose cut rectangle reaches into each cell. */
  readonly records: Uint16Array;
  /** Cells inside the field that were filled from neighbours. */
  readonly filledCells: number;
  readonly method: "cut area" | "inverse distance" | "block kriging";
  /** Variance of a kriged cell's mean, in the layer's unit squared. */
  readonly variance?: Layer;
  readonly issues: readonly Issue[];
}

/** Records further apart than this (and than two cells) are points, not a swept surface. Metres. */
const SPARSE_M = 15;
/** Where the log has no width. Metres. */
const USUAL_SWATH_M = 9;
/** The variogram of a log is looked at so far: beyond, it says little of neighbouring cells. */
const VARIOGRAM_SWATHS = 20;
const FILL_NEIGHBOURS = 12;
const MOST_OF_ONE_PASS = 4;

/**
 * A yield map from the records that were kept.
 *
 * A logged record speaks for the rectangle it was cut from (effective width × distance, behind the position): the
 * cells it covers take its yield, sampled every half cell, and a cell is the trimmed mean of what it was given, so
 * wide and long records count by area. Cells nobody cut are filled from the records within 1.5 swaths by inverse
 * distance, at most four of one pass; farther away they stay NaN. Sparse points are interpolated instead (`gridPoints`).
 * With `surface: "kriged"` a cell is the block-kriged mean of the records about it instead, their nugget taken for noise.
 *
 * @param mask - 1 for cells of the field; others come out NaN.
 */
export function gridYield(
  cleaned: CleanedYield,
  grid: Grid,
  mask: Uint8Array,
  options: GridYieldOptions = {},
): GriddedYield {
  const {trim = 0.2, fillSwaths = 1.5, groups} = options;
  const kept = indexesWhere(cleaned.reason.length, (i) => cleaned.reason[i] === 0);
  const points = indexPoints(cleaned.x, cleaned.y, kept);
  const issues: Issue[] = [];
  const values = groups ? percentOfGroupMean(keptOnly(cleaned), groups, issues) : cleaned.yieldTPerHa;
  const identity = {
    id: `yield-${cleaned.season}`,
    label: `${capital(cleaned.crop)} yield ${cleaned.season}`,
    unit: groups ? ("% of mean" as const) : ("t/ha" as const),
  };
  if (usualSpacingM(points, kept) > Math.max(SPARSE_M, 2 * grid.cellSize)) {
    const sparse = gridPoints(cleaned.x, cleaned.y, keptOnly({...cleaned, yieldTPerHa: values}), grid, mask, identity);
    return {
      layer: sparse.layer as GriddedYield["layer"],
      records: recordsPerCell(cleaned, grid, kept),
      filledCells: 0,
      method: "inverse distance",
      issues: [...issues, ...sparse.issues],
    };
  }

  const {cellMeans, records} = meansOfCutArea(cleaned, values, grid, kept, trim);
  const swathM = typicalOf(cleaned.swathM) || USUAL_SWATH_M;
  if (options.surface === "kriged") {
    const told = kept.filter((i) => Number.isFinite(values[i] as number));
    const middles = {...middlesOf(cleaned, told), values: pick(values, told)};
    const settings = {reachM: fillSwaths * swathM, cutoffM: VARIOGRAM_SWATHS * swathM, seed: options.seed ?? 1};
    const kriged = krigeDense(middles, grid, mask, settings);
    if (kriged) return krigedYield(cleaned, grid, mask, records, kriged, {identity, issues, settings});
    issues.push({
      code: "layers/no-structure",
      severity: "note",
      message: `${identity.label} has no spatial structure to krige by; cells take the mean of what was cut on them.`,
    });
  }

  const empty = mask.map((inside, i) => (inside && Number.isNaN(cellMeans[i] as number) ? 1 : 0));
  const fill = inverseDistance(points, values, grid, empty, {
    neighbours: FILL_NEIGHBOURS,
    withinM: fillSwaths * swathM,
    labels: cleaned.pass,
    mostOfOne: MOST_OF_ONE_PASS,
  });
  let filledCells = 0;
  const gridded = cellMeans.map((mean, i) => {
    if (!mask[i]) return Number.NaN;
    if (Number.isNaN(mean) && !Number.isNaN(fill[i] as number)) filledCells++;
    return Number.isNaN(mean) ? (fill[i] as number) : mean;
  });
  const covered = coveragePct(gridded, mask);
  if (covered < 95) issues.push(gapIssue(identity.label, covered, mask, grid));
  const layer = {
    ...identity,
    grid,
    values: gridded,
    madeFrom: {
      step: "layers/grid-yield",
      inputs: [cleaned.id],
      options: {trim, fillSwaths, cellSizeM: grid.cellSize, grouped: groups !== undefined},
    },
  } as GriddedYield["layer"];
  return {layer, records, filledCells, method: "cut area", issues};
}

/** Middles of the rectangles records were cut from; positions are at their forward ends. */
function middlesOf({x, y, lengthM, east, north}: CleanedYield, kept: Int32Array): {x: Float64Array; y: Float64Array} {
  const back = (at: Float64Array, heading: Float64Array): Float64Array =>
    Float64Array.from(kept, (i) => {
      const half = 0.5 * (lengthM[i] as number) * (heading[i] as number);
      return (at[i] as number) - (Number.isFinite(half) ? half : 0);
    });
  return {x: back(x, east), y: back(y, north)};
}

/** The kriged surface as a result, with the variogram it rests on. */
function krigedYield(
  cleaned: CleanedYield,
  grid: Grid,
  mask: Uint8Array,
  records: Uint16Array,
  {values, variance, model, compared}: DenseKriging,
  {
    identity,
    issues,
    settings,
  }: {
    identity: Pick<Layer<"t/ha"> | Layer<"% of mean">, "id" | "label" | "unit">;
    issues: Issue[];
    settings: {reachM: number; cutoffM: number; seed: number};
  },
): GriddedYield {
  const {seed, ...distances} = settings;
  const madeFrom = {
    step: "layers/grid-yield",
    inputs: [cleaned.id],
    options: {surface: "kriged", model, compared, ...distances, cellSizeM: grid.cellSize},
    seed,
  };
  const layer = {...identity, grid, values, madeFrom} as GriddedYield["layer"];
  const {id, label, unit} = identity;
  const covered = coveragePct(values, mask);
  if (covered < 95) issues.push(gapIssue(label, covered, mask, grid));
  return {
    layer,
    records,
    filledCells: values.reduce((sum, v, cell) => sum + (records[cell] === 0 && !Number.isNaN(v) ? 1 : 0), 0),
    method: "block kriging",
    variance: {
      ...layer,
      id: `${id}-variance`,
      label: `${label}, kriging variance`,
      unit: `(${unit})²`,
      values: variance,
    },
    issues,
  };
}

/** Yields of kept records, NaN for the others. */
function keptOnly({yieldTPerHa, reason}: Pick<CleanedYield, "yieldTPerHa" | "reason">): Float64Array {
  return yieldTPerHa.map((value, i) => (reason[i] === 0 ? value : Number.NaN));
}

function recordsPerCell(cleaned: CleanedYield, grid: Grid, kept: Int32Array): Uint16Array {
  const records = new Uint16Array(cellCount(grid));
  for (const i of kept) {
    const cell = cellAt(grid, cleaned.x[i] as number, cleaned.y[i] as number);
    if (cell >= 0) records[cell] = (records[cell] as number) + 1;
  }
  return records;
}

/** Every cell's trimmed mean of the samples laid over it, and how many records those came from. */
function meansOfCutArea(
  cleaned: CleanedYield,
  values: Float64Array,
  grid: Grid,
  kept: Int32Array,
  trim: number,
): {cellMeans: Float64Array; records: Uint16Array} {
  const start = new Int32Array(cellCount(grid) + 1);
  sampleCutArea(cleaned, grid, kept, (cell) => {
    start[cell + 1] = (start[cell + 1] as number) + 1;
  });
  for (let c = 0; c + 1 < start.length; c++) start[c + 1] = (start[c + 1] as number) + (start[c] as number);
  const next = start.slice();
  const samples = new Float64Array(start.at(-1) as number);
  const records = new Uint16Array(cellCount(grid));
  const lastRecord = new Int32Array(cellCount(grid)).fill(-1);
  sampleCutArea(cleaned, grid, kept, (cell, record) => {
    samples[next[cell] as number] = values[record] as number;
    next[cell] = (next[cell] as number) + 1;
    if (lastRecord[cell] !== record) records[cell] = (records[cell] as number) + 1;
    lastRecord[cell] = record;
  });
  const cellMeans = new Float64Array(cellCount(grid)).fill(Number.NaN);
  for (let c = 0; c < cellMeans.length; c++) {
    const from = start[c] as number;
    const to = start[c + 1] as number;
    if (to > from) cellMeans[c] = trimmedMean(samples.subarray(from, to), trim);
  }
  return {cellMeans, records};
}

/** Calls back with the cell under each of the evenly spaced sample points of each record's rectangle. */
function sampleCutArea(
  {x, y, lengthM, swathM, east, north}: CleanedYield,
  grid: Grid,
  kept: Int32Array,
  visit: (cell: number, record: number) => void,
): void {
  const spacing = grid.cellSize / 2;
  for (const i of kept) {
    const heading = Number.isFinite(east[i] as number);
    const width = heading && (swathM[i] as number) > 0 ? (swathM[i] as number) : 0;
    const length = heading && (lengthM[i] as number) > 0 ? (lengthM[i] as number) : 0;
    const across = Math.max(1, Math.round(width / spacing));
    const along = Math.max(1, Math.round(length / spacing));
    const ex = heading ? (east[i] as number) : 0;
    const ny = heading ? (north[i] as number) : 0;
    for (let a = 0; a < along; a++) {
      const back = ((a + 0.5) / along) * length;
      for (let s = 0; s < across; s++) {
        const side = ((s + 0.5) / across - 0.5) * width;
        const cell = cellAt(grid, (x[i] as number) - back * ex - side * ny, (y[i] as number) - back * ny + side * ex);
        if (cell >= 0) visit(cell, i);
      }
    }
  }
}

function trimmedMean(samples: Float64Array, trim: number): number {
  const sorted = samples.sort();
  const cut = Math.floor(trim * sorted.length);
  let sum = 0;
  for (let i = cut; i < sorted.length - cut; i++) sum += sorted[i] as number;
  return sum / (sorted.length - 2 * cut);
}

function gapIssue(label: string, covered: number, mask: Uint8Array, grid: Grid): Issue {
  let cells = 0;
  for (const inside of mask) cells += inside;
  const missing = formatArea(cells * grid.cellSize ** 2 * (1 - covered / 100));
  return {
    code: "layers/gaps",
    severity: covered < 50 ? "warning" : "note",
    message: `${label} has no records near ${missing} of the field (${formatNumber(100 - covered)} %); those cells have no yield.`,
    hint: "Check that every log of the season is there; ground set aside in cleaning is listed by reason.",
  };
}

function capital(text: string): string {
  return text.charAt(0).toUpperCase() + text.slice(1);
}
