import {type Description, describe} from "../stats/robust.ts";
import type {Layer} from "./layer.ts";

/** Percent of the field's cells that have data. */
export function coveragePct(values: Float64Array, mask: Uint8Array): number {
  let cells = 0;
  let known = 0;
  for (let i = 0; i < mask.length; i++) {
    if (!mask[i]) continue;
    cells++;
    if (!Number.isNaN(values[i] as number)) known++;
  }
  return cells === 0 ? 0 : (100 * known) / cells;
}

/** Values outside the mask taken out. */
export function within(values: Float64Array, mask: Uint8Array): Float64Array {
  return values.map((value, i) => (mask[i] ? value : Number.NaN));
}

export interface LayerAudit extends Description {
  readonly id: string;
  readonly label: string;
  readonly unit: string;
  readonly coveragePct: number;
}

/** What each layer holds inside the field: its share of cells with data and the spread of their values. */
export function auditLayers(layers: readonly Layer[], mask: Uint8Array): LayerAudit[] {
  return layers.map((layer) => ({
    id: layer.id,
    label: layer.label,
    unit: layer.unit,
    coveragePct: coveragePct(layer.values, mask),
    ...describe(within(layer.values, mask)),
  }));
}
