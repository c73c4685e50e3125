import {seededRandom} from "../../src/stats/random.ts";

/** Something with a value everywhere in a field's frame, metres. */
export type Surface = (x: number, y: number) => number;

const NODES = 512;

/**
 * A smooth random surface: mean 0, standard deviation 1, no correlation beyond `rangeM`.
 *
 * White noise on a lattice, averaged under a round kernel of half that radius (a moving-average process). It
 * repeats after about 85 ranges, which no field here reaches except at ranges of a few metres.
 */
export function smoothNoise(seed: number, purpose: string, rangeM: number): Surface {
  const random = seededRandom(seed, purpose);
  const radius = rangeM / 2;
  const spacing = radius / 3;
  const nodes = Float64Array.from({length: NODES * NODES}, () => random.normal());
  return (x, y) => {
    const firstCol = Math.ceil((x - radius) / spacing);
    const lastCol = Math.floor((x + radius) / spacing);
    const firstRow = Math.ceil((y - radius) / spacing);
    const lastRow = Math.floor((y + radius) / spacing);
    let sum = 0;
    let squares = 0;
    for (let row = firstRow; row <= lastRow; row++) {
      const dy = (row * spacing - y) / radius;
      for (let col = firstCol; col <= lastCol; col++) {
        const dx = (col * spacing - x) / radius;
        const inside = 1 - dx * dx - dy * dy;
        if (inside <= 0) continue;
        const weight = inside * inside;
        sum += weight * (nodes[wrap(row) * NODES + wrap(col)] as number);
        squares += weight * weight;
      }
    }
    return sum / Math.sqrt(squares);
  };
}

const wrap = (node: number): number => ((node % NODES) + NODES) % NODES;

/** 0 up to `from`, 1 beyond `to`, smooth in between. */
export function ramp(value: number, from: number, to: number): number {
  const t = Math.min(1, Math.max(0, (value - from) / (to - from)));
  return t * t * (3 - 2 * t);
}
