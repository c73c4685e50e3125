import type {Issue} from "../errors.ts";
import type {ClassLayer, Layer} from "../grid/layer.ts";
import {clippedScale, robustScale, zScore} from "../stats/standardise.ts";
import type {Feature} from "./feature-matrix.ts";

/** Two classes are one standard deviation apart: the distance between (s, 0) and (0, s) is 1. */
const CLASS_SCALE = Math.SQRT1_2;

/** A layer's columns on a common scale, before weighting. */
export interface Columns {
  readonly feature: Feature;
  readonly columns: readonly Float64Array[];
  readonly known: number;
}

/** The layer in the field's cells; nothing, but an issue, when it does not vary there. */
export function columnsOf(
  feature: Feature,
  cells: Int32Array,
  scale: "clipped" | "robust",
  issues: Issue[],
): Columns[] {
  const {layer} = feature;
  const raw = Float64Array.from(cells, (cell) => layer.values[cell] as number);
  const known = raw.reduce((sum, v) => sum + (Number.isNaN(v) ? 0 : 1), 0);
  if (known === 0) {
    issues.push({
      code: "zones/empty-layer",
      severity: "warning",
      message: `${layer.label} has no data in the field and was left out.`,
      hint: "Check that the file covers this field.",
    });
    return [];
  }
  const columns = isClassLayer(layer) ? classColumns(layer, raw) : numericColumns(raw, scale);
  if (columns.length > 0) return [{feature, columns, known}];
  issues.push({
    code: "zones/constant-layer",
    severity: "warning",
    message: `${layer.label} is the same all over the field, so it cannot divide it and was left out.`,
  });
  return [];
}

function numericColumns(raw: Float64Array, kind: "clipped" | "robust"): Float64Array[] {
  const scale = kind === "robust" ? robustScale(raw) : clippedScale(raw);
  return scale ? [raw.map((v) => zScore(scale, v))] : [];
}

/** One column per class that occurs; none when there is only one. */
function classColumns(layer: ClassLayer, raw: Float64Array): Float64Array[] {
  const present = layer.classes.map((_, index) => index).filter((index) => raw.includes(index));
  if (present.length < 2) return [];
  return present.map((index) => raw.map((v) => (Number.isNaN(v) ? v : v === index ? CLASS_SCALE : 0)));
}

export function isClassLayer(layer: Layer | ClassLayer): layer is ClassLayer {
  return "classes" in layer;
}
