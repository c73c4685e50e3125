import {areaM2, polygonAreaM2} from "../geo/measure.ts";
import {mergeSmall} from "../geo/merge-small.ts";
import type {MultiPolygon} from "../geo/shapes.ts";
import {drawLabels} from "../grid/draw-labels.ts";
import {cellCount, type Grid} from "../grid/grid.ts";
import {labelRegions, regionBorders} from "../grid/label-regions.ts";
import {burn} from "../grid/rasterize.ts";
import {squareMetres} from "../units/quantity.ts";
import {machineRate} from "./machine-rate.ts";
import type {MachineLimits} from "./prescription.ts";
import {rateLevels} from "./rate-levels.ts";
import type {RatedGround, Want} from "./rated-ground.ts";

export interface SurfaceInput {
  readonly outline: MultiPolygon;
  /** The field's own area, square metres: acres are counted by it. */
  readonly area: number;
  readonly grid: Grid;
  /** For each product, lb per acre on each cell before the machine's limits; NaN outside the field only. */
  readonly exact: readonly Float64Array[];
  /** The same of each product's nutrient. */
  readonly nutrient: readonly Float64Array[];
  readonly limits: readonly MachineLimits[];
  /** Most different rates of each product. */
  readonly levels: number;
  /** Smaller patches join the neighbour with the longest border and the nearest rates. */
  readonly leastAreaM2: number;
  /** How the rates came about, for the working. */
  readonly text: string;
  readonly source: string;
}

/** Labels are bytes. */
const MOST_LABELS = 250;

/**
 * A rate surface as ground with one rate each: cells of like rates, without patches too small for a machine, drawn with
 * smooth borders. Each ground wants the mean of its cells, so that pounds stay what the surface calls for.
 *
 * Several products share their ground; each then has so few levels that all their pairs can be told apart.
 *
 * @returns In order of label; `levels` as used.
 */
export function surfaceGround(input: SurfaceInput): {ground: RatedGround[]; levels: number} {
  const {outline, area, grid, exact, limits, leastAreaM2} = input;
  const levels = Math.min(input.levels, Math.floor(MOST_LABELS ** (1 / exact.length) + 1e-9));
  const inField = [...(exact[0] as Float64Array).keys()].filter(
    (cell) => !Number.isNaN((exact[0] as Float64Array)[cell]),
  );
  const even = inField.map(() => 1);
  const levelled = exact.map((layer, p) => {
    const toMachine = (rate: number): number => machineRate(rate, limits[p] as MachineLimits).rateLbPerAcre;
    return rateLevels(
      inField.map((cell) => toMachine(layer[cell] as number)),
      even,
      levels,
      toMachine,
    );
  });
  const tuples = new Map<string, number>();
  const labels = new Uint8Array(cellCount(grid));
  const ratesOf: number[][] = [[]];
  inField.forEach((cell, i) => {
    const rates = levelled.map((of) => of[i] as number);
    const key = rates.join();
    let label = tuples.get(key);
    if (label === undefined) {
      label = tuples.size + 1;
      tuples.set(key, label);
      ratesOf.push(rates);
    }
    labels[cell] = label;
  });
  const parts = drawLabels(outline, grid, withoutSpecks(grid, labels, ratesOf, leastAreaM2), leastAreaM2);
  const pieces = parts.flatMap(({label, shape}) => shape.map((polygon) => ({label, polygon})));
  const cells = cellsIn(
    grid,
    pieces.map(({polygon}) => [polygon]),
  );
  const planar = areaM2(outline);
  const ground = pieces.map(({label, polygon}, i): RatedGround => {
    const own = (cells[i] as number[]).filter((cell) => labels[cell] !== 0);
    // A piece between cell centres wants what its label stands for.
    const meanOf = (layer: Float64Array, p: number): number =>
      own.length > 0
        ? own.reduce((sum, cell) => sum + (layer[cell] as number), 0) / own.length
        : ((ratesOf[label] as number[])[p] as number);
    return {
      id: `R${i + 1}`,
      shape: [polygon],
      area: squareMetres((area * polygonAreaM2(polygon)) / planar),
      wants: exact.map((layer, p) =>
        wantAt(meanOf(layer, p), meanOf(input.nutrient[p] as Float64Array, p), own.length, input),
      ),
    };
  });
  return {ground, levels};
}

function wantAt(exactLbPerAcre: number, nutrientLbPerAcre: number, cells: number, {text, source}: SurfaceInput): Want {
  const working = [
    {
      text: `${text}, mean of ${cells} cells`,
      value: exactLbPerAcre,
      unit: "lb/ac",
      source,
      basis: "arithmetic",
    } as const,
  ];
  return {nutrientLbPerAcre, exactLbPerAcre, working};
}

/** Patches under the least area join a neighbour, before lines are drawn round them. */
function withoutSpecks(
  grid: Grid,
  labels: Uint8Array,
  ratesOf: readonly (readonly number[])[],
  leastAreaM2: number,
): Uint8Array {
  const regions = labelRegions(grid, labels);
  const cellArea = grid.cellSize ** 2;
  const known = ratesOf.slice(1);
  // How far rates are apart counts in steps between levels, the same for all products.
  const scale = (known[0] ?? []).map((_, p) => {
    const of = [...new Set(known.map((rates) => rates[p] as number))];
    return of.length > 1 ? (Math.max(...of) - Math.min(...of)) / (of.length - 1) : 1;
  });
  const misfit = new Float64Array(regions.labels.length * known.length);
  regions.labels.forEach((label, region) => {
    const mine = ratesOf[label] as readonly number[];
    known.forEach((theirs, other) => {
      const apart = mine.reduce(
        (sum, rate, p) => sum + Math.abs(rate - (theirs[p] as number)) / (scale[p] as number),
        0,
      );
      misfit[region * known.length + other] = apart * (regions.cells[region] as number) * cellArea;
    });
  });
  const merged = mergeSmall(
    {
      labels: regions.labels,
      areasM2: Float64Array.from(regions.cells, (cells) => cells * cellArea),
      borders: regionBorders(grid, regions),
      misfit,
    },
    leastAreaM2,
  );
  return labels.map((label, cell) => (label === 0 ? 0 : (merged[regions.owner[cell] as number] as number)));
}

function cellsIn(grid: Grid, shapes: readonly MultiPolygon[]): number[][] {
  const cells: number[][] = shapes.map(() => []);
  burn(grid, shapes).owner.forEach((shape, cell) => {
    if (shape >= 0) cells[shape]?.push(cell);
  });
  return cells;
}
