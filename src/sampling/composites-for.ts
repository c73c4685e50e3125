/** Fewest composites of at most `mostM2` each. Frames are true to 1e-6, so 160.0001 ac still makes 8 of 20 ac. */
export function compositesFor(areaM2: number, mostM2: number): number {
  return Math.max(1, Math.ceil((areaM2 / mostM2) * (1 - 1e-6)));
}
