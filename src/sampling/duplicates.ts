import type {Random} from "../stats/random.ts";

/**
 * Which units get a second bag: so many of those that can have one, chosen at random without preference.
 *
 * @returns Indexes. All of them where fewer can have one than are asked for.
 */
export function pickForDuplicates(canHave: readonly boolean[], count: number, random: Random): ReadonlySet<number> {
  const left = canHave.flatMap((can, i) => (can ? [i] : []));
  const picked = new Set<number>();
  while (picked.size < count && left.length > 0) {
    const [index] = left.splice(random.integer(left.length), 1);
    picked.add(index as number);
  }
  return picked;
}
