/** Settings without those that were left out: left out is not the same as given as nothing. */
export function given<T extends object>(settings: T): {[K in keyof T]?: Exclude<T[K], undefined>} {
  return Object.fromEntries(Object.entries(settings).filter(([, value]) => value !== undefined)) as never;
}
