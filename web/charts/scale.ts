/** Steps that people count in. */
const ROUND = [1, 2, 2.5, 5, 10];

/** The smallest round step that gets from zero to `most` in so many or fewer. */
export function roundStep(most: number, steps: number): number {
  if (!(most > 0)) return 1;
  const rough = most / steps;
  const power = 10 ** Math.floor(Math.log10(rough));
  // The nudge undoes binary representation error, so that 0.3 / 3 is a tenth.
  return (ROUND.find((round) => round * power >= rough * (1 - 1e-9)) ?? 10) * power;
}

/** Round numbers from zero to the first that is `most` or more. */
export function ticksTo(most: number, steps = 4): number[] {
  const step = roundStep(most, steps);
  return Array.from({length: Math.max(1, Math.ceil(most / step - 1e-9)) + 1}, (_, i) => clean(i * step));
}

/** Round numbers on either side of zero, as far as both ends need. */
export function ticksAround(least: number, most: number, steps = 4): number[] {
  const step = roundStep(Math.max(most, 0) - Math.min(least, 0), steps);
  const [from, to] = [Math.floor(Math.min(least, 0) / step + 1e-9), Math.ceil(Math.max(most, 0) / step - 1e-9)];
  return Array.from({length: to - from + 1}, (_, i) => clean((from + i) * step));
}

/** Where a value lies on a page, of a scale from one end to the other. */
export function placeOn([from, to]: readonly [number, number], [start, end]: readonly [number, number]) {
  return (value: number): number => start + (to === from ? 0 : ((value - from) / (to - from)) * (end - start));
}

/** Decimals that tell the ticks of a scale apart. */
export function decimalsOf(ticks: readonly number[]): number {
  return [0, 1, 2, 3].find((decimals) => ticks.every((tick) => clean(tick) === Number(tick.toFixed(decimals)))) ?? 3;
}

const clean = (value: number): number => Number(value.toPrecision(12)) + 0;
