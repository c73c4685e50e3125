/** Keeps what was last used and lets go of the rest. */
export interface Recent<T> {
  get(key: string): T | undefined;
  set(key: string, value: T): void;
}

/**
 * @param most - How much may be kept, in whatever `sizeOf` counts; one item is kept however large.
 * @param sizeOf - Default: each counts 1.
 */
export function recent<T>(most: number, sizeOf: (value: T) => number = () => 1): Recent<T> {
  const kept = new Map<string, {value: T; size: number}>();
  let total = 0;
  const drop = (key: string): void => {
    total -= kept.get(key)?.size ?? 0;
    kept.delete(key);
  };
  return {
    get(key) {
      const found = kept.get(key);
      if (!found) return undefined;
      kept.delete(key);
      kept.set(key, found);
      return found.value;
    },
    set(key, value) {
      drop(key);
      const size = sizeOf(value);
      kept.set(key, {value, size});
      total += size;
      for (const oldest of kept.keys()) {
        if (total <= most || kept.size === 1) break;
        drop(oldest);
      }
    },
  };
}
