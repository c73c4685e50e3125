/** The values at some indexes, in their order. */
export function pick(values: Float64Array, index: Int32Array): Float64Array {
  const picked = new Float64Array(index.length);
  for (let k = 0; k < index.length; k++) picked[k] = values[index[k] as number] as number;
  return picked;
}

/** Indexes from 0 up to `count` for which something is so, rising. */
export function indexesWhere(count: number, isSo: (i: number) => boolean): Int32Array {
  const found = new Int32Array(count);
  let n = 0;
  for (let i = 0; i < count; i++) if (isSo(i)) found[n++] = i;
  return found.slice(0, n);
}
