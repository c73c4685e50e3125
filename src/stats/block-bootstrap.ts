import type {Random} from "./random.ts";

/**
 * Indexes drawn by whole blocks, with replacement, until at least as many as there were: what a sample might have been
 * like when values of a block belong together.
 *
 * @param blocks - Indexes of each block; together the sample. Empty blocks are passed over.
 *
 * Source: block bootstrap of Künsch (1989), Ann. Stat. 17:1217–1241; blocks of the plane as in Hall (1985), Stochastic
 * Process. Appl. 20:231–246.
 */
export function drawBlocks(blocks: readonly Int32Array[], random: Random): Int32Array {
  const filled = blocks.filter(({length}) => length > 0);
  const count = filled.reduce((sum, {length}) => sum + length, 0);
  const largest = filled.reduce((most, {length}) => Math.max(most, length), 0);
  const drawn = new Int32Array(count + largest);
  let n = 0;
  while (n < count) {
    const block = filled[random.integer(filled.length)] as Int32Array;
    drawn.set(block, n);
    n += block.length;
  }
  return drawn.slice(0, n);
}
