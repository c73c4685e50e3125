import {FieldError, type Issue} from "../errors.ts";
import type {Field} from "../geo/field.ts";
import {type Grid, sameGrid} from "../grid/grid.ts";
import type {ClassLayer, Layer} from "../grid/layer.ts";
import {maskOf} from "../grid/rasterize.ts";
import {formatNumber} from "../units/format.ts";
import {type LayerPattern, withoutNoise} from "./drop-noise.ts";
import {type Columns, columnsOf} from "./theme-columns.ts";
import {type Components, onComponents} from "./theme-components.ts";
import {weighted} from "./theme-weights.ts";

export {isClassLayer} from "./theme-columns.ts";

/** What a layer tells of. Layers of one theme share one say, so that five yield maps do not count five times. */
export type Theme = "yield" | "soil" | "terrain" | "sensed";

/** A layer that zones are made from. */
export interface Feature {
  readonly layer: Layer | ClassLayer;
  readonly theme: Theme;
  /** Say within the theme beside its other layers. Default 1; 0 leaves the layer out but still reports its means. */
  readonly weight?: number;
}

/** The field's cells as points whose distances say how unlike they are. */
export interface FeatureMatrix {
  /** Grid index of each row: the cells whose centre is in the field, in grid order. */
  readonly cells: Int32Array;
  readonly dims: number;
  /**
   * Row-major. Numeric layers are clipped z-scores, class layers one column per class; all times the root of their
   * weight. NaN where the layer has no data.
   */
  readonly values: Float64Array;
  /** Share of the weight that each row has data for, 0 to 1. */
  readonly present: Float64Array;
  /** Sum of the themes' weights: divides a squared distance into a mean over themes. */
  readonly weight: number;
  /** Features that take part, in order. */
  readonly used: readonly Feature[];
  /** Columns of each of them. */
  readonly columns: readonly number[];
  /** How like neighbouring cells are in each layer that could be tested, also of those left out as noise. */
  readonly patterns: readonly LayerPattern[];
  /** When complete rows were replaced by what the first components say of them. */
  readonly components?: Components;
  readonly issues: readonly Issue[];
}

export interface FeatureOptions {
  /**
   * `clipped`: mean and standard deviation after clipping 1 % at each end. `robust`: median and median absolute
   * deviation, for layers with long tails. Default `clipped`.
   */
  readonly scale?: "clipped" | "robust" | undefined;
  /** Leave out layers in which neighbours are no more alike than by chance, with a remark. Default true. */
  readonly dropNoise?: boolean | undefined;
  /** Share of the variance to keep in principal components, above 0 up to 1, as in 0.9. Default: no components. */
  readonly components?: number | undefined;
}

/** Fewer complete cells than this share of the field, and the layer with the most gaps is left out. */
const LEAST_COMPLETE = 0.5;

/**
 * Layers of different units brought to one scale, weighted by theme.
 *
 * A squared distance gives every theme its weight, shared by the theme's layers as their own weights say. Layers that
 * are constant, empty, or so gappy that under half of the cells would be complete are left out with an issue.
 *
 * Layers of pure noise are left out, too, unless all are.
 *
 * @param weights - Say of each theme. Default 1 each.
 * @throws {FieldError} `zones/no-layers`, `zones/grid-differs`, `zones/layer-twice`, `zones/weight`,
 *   `zones/no-cells`, `zones/nothing-varies`, `zones/components`.
 */
export function featureMatrix(
  field: Field,
  grid: Grid,
  features: readonly Feature[],
  weights: Partial<Record<Theme, number>> = {},
  {scale = "clipped", dropNoise = true, components}: FeatureOptions = {},
): FeatureMatrix {
  checkFeatures(grid, features, weights);
  const cells = cellsIn(field, grid);
  const issues: Issue[] = [];
  const columns = features
    .filter(({theme, weight}) => (weight ?? 1) > 0 && (weights[theme] ?? 1) > 0)
    .flatMap((feature) => columnsOf(feature, cells, scale, issues));
  const {patterned, patterns} = withoutNoise(grid, cells, columns, dropNoise, issues);
  const used = dropGappy(patterned, cells.length, issues);
  if (used.length === 0) {
    throw new FieldError("zones/nothing-varies", "No layer varies within the field, so nothing tells zones apart.", {
      hint: "Give at least one layer that covers the field and is not the same everywhere.",
      issues,
    });
  }
  const matrix = {
    cells,
    ...weighted(used, cells.length, weights),
    used: used.map(({feature}) => feature),
    columns: used.map((of) => of.columns.length),
    patterns,
    issues,
  };
  return components === undefined ? matrix : onComponents(matrix, components);
}

/** Leaves out the gappiest layer until half of the cells are complete: centres are fitted on complete cells. */
function dropGappy(columns: readonly Columns[], rows: number, issues: Issue[]): readonly Columns[] {
  let used = columns;
  while (used.length > 1 && completeRows(used, rows) < LEAST_COMPLETE * rows) {
    const worst = used.reduce((a, b) => (b.known < a.known ? b : a));
    used = used.filter((other) => other !== worst);
    const share = formatNumber((100 * worst.known) / rows);
    issues.push({
      code: "zones/gappy-layer",
      severity: "warning",
      message: `${worst.feature.layer.label} covers ${share} % of the field; with it under half of the cells would have all layers, so it was left out.`,
      hint: "Fill its gaps, or make zones from layers that cover the field.",
    });
  }
  return used;
}

function completeRows(columns: readonly Columns[], rows: number): number {
  let complete = 0;
  for (let i = 0; i < rows; i++) {
    if (columns.every((c) => !Number.isNaN(c.columns[0]?.[i]))) complete++;
  }
  return complete;
}

function cellsIn(field: Field, grid: Grid): Int32Array {
  const mask = maskOf(grid, field.outline);
  const cells = Int32Array.from(mask.keys()).filter((cell) => mask[cell] === 1);
  if (cells.length === 0) {
    throw new FieldError("zones/no-cells", `No ${grid.cellSize} m cell has its centre in ${field.name}.`, {
      hint: "Choose a smaller cell size, or check that the layers belong to this field.",
    });
  }
  return cells;
}

function checkFeatures(grid: Grid, features: readonly Feature[], weights: Partial<Record<Theme, number>>): void {
  if (features.length === 0) {
    throw new FieldError("zones/no-layers", "There is no layer to make zones from.", {
      hint: "Give yield logs, a soil map or elevation.",
    });
  }
  const ids = new Set<string>();
  for (const {layer, weight} of features) {
    if (!sameGrid(grid, layer.grid)) {
      throw new FieldError("zones/grid-differs", `${layer.label} is on another grid than the zones.`, {
        hint: "Resample it to the field's grid first.",
      });
    }
    if (ids.has(layer.id)) {
      throw new FieldError("zones/layer-twice", `Two layers are called "${layer.id}".`, {
        hint: "Give each layer an id of its own.",
      });
    }
    ids.add(layer.id);
    checkWeight(layer.label, weight);
  }
  for (const [theme, weight] of Object.entries(weights)) checkWeight(theme, weight);
}

function checkWeight(name: string, weight: number | undefined): void {
  if (weight === undefined || (weight >= 0 && Number.isFinite(weight))) return;
  throw new FieldError("zones/weight", `The weight of ${name} is ${weight}.`, {
    hint: "Give a number of 0 or more; 0 leaves it out.",
  });
}
