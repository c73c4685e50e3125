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
