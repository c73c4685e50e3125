/** Numbers from 0 up to 1, the same for the same seed: a linear congruence, good enough to make up file contents. */
export function makeRandom(seed: number): () => number {
  let state = (seed * 2_654_435_761) >>> 0;
  return () => {
    state = (Math.imul(state, 1_664_525) + 1_013_904_223) >>> 0;
    return state / 2 ** 32;
  };
}
