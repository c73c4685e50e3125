import {optimalClasses} from "../stats/optimal-classes.ts";

/**
 * At most so many different rates: those that move the least ground the least, by weighted squares.
 *
 * Ground at zero stays at zero, which counts as a level, unless only one level is allowed. A level is the mean of its
 * ground as the machine can spread it, so two may fall together and fewer come out.
 *
 * @param toMachine - What the machine makes of a rate.
 * @returns The new rate of each ground.
 */
export function rateLevels(
  rates: readonly number[],
  acres: readonly number[],
  most: number,
  toMachine: (lbPerAcre: number) => number,
): number[] {
  if (new Set(rates).size <= most) return [...rates];
  const keepZero = most > 1 && rates.includes(0);
  const moving = rates.flatMap((rate, i) => (keepZero && rate === 0 ? [] : [i]));
  const classes = optimalClasses(
    moving.map((i) => rates[i] as number),
    moving.map((i) => acres[i] as number),
    keepZero ? most - 1 : most,
  );
  const ground = new Map<number, {acres: number; lb: number}>();
  moving.forEach((i, k) => {
    const own = ground.get(classes[k] as number) ?? {acres: 0, lb: 0};
    own.acres += acres[i] as number;
    own.lb += (acres[i] as number) * (rates[i] as number);
    ground.set(classes[k] as number, own);
  });
  const levels = new Map([...ground].map(([c, own]) => [c, toMachine(own.lb / own.acres)]));
  const out = [...rates];
  moving.forEach((i, k) => {
    out[i] = levels.get(classes[k] as number) as number;
  });
  return out;
}

/** The level nearest to a rate; the lower of two as near. */
export function nearestLevel(levels: readonly number[], lbPerAcre: number): number {
  return levels.reduce((best, level) => (Math.abs(level - lbPerAcre) < Math.abs(best - lbPerAcre) ? level : best));
}
