import {uniformFloat64} from "pure-rand/distribution/uniformFloat64";
import {uniformInt} from "pure-rand/distribution/uniformInt";
import {xoroshiro128plus} from "pure-rand/generator/xoroshiro128plus";

/** A source of random numbers that is the same on every machine for the same seed and purpose. */
export interface Random {
  /** Uniform in [0, 1), 53 bits. */
  next(): number;
  /** Whole number from 0 up to, not including, `below`. */
  integer(below: number): number;
  /** Standard normal. */
  normal(): number;
}

/**
 * Random numbers for one purpose.
 *
 * @param seed - Any whole number; the job's seed.
 * @param purpose - Names the use ("zones/start 3"), so that one stage drawing more numbers does not move another's.
 */
export function seededRandom(seed: number, purpose: string): Random {
  const generator = xoroshiro128plus(mix(seed, purpose));
  // Close seeds start alike; a few draws part them.
  for (let i = 0; i < 16; i++) generator.next();
  const next = (): number => uniformFloat64(generator);
  return {
    next,
    integer: (below) => uniformInt(generator, 0, below - 1),
    normal: () => {
      // Box and Muller (1958); 1 - u keeps the logarithm finite.
      const radius = Math.sqrt(-2 * Math.log(1 - next()));
      return radius * Math.cos(2 * Math.PI * next());
    },
  };
}

/** FNV-1a over the purpose, then a finalizer, so that every bit of seed and purpose counts. */
function mix(seed: number, purpose: string): number {
  let h = 0x811c9dc5 ^ (seed | 0);
  h = Math.imul(h, 0x01000193) ^ Math.trunc(seed / 0x1_0000_0000);
  for (let i = 0; i < purpose.length; i++) h = Math.imul(h ^ purpose.charCodeAt(i), 0x01000193);
  h = Math.imul(h ^ (h >>> 16), 0x85ebca6b);
  h = Math.imul(h ^ (h >>> 13), 0xc2b2ae35);
  return h ^ (h >>> 16);
}
