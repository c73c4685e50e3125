/**
 * The split of numbers into at most so many classes with the least sum of squares about the class means, each number
 * counting by its weight. Classes are runs of the sorted numbers; of equal splits the one that cuts earliest is taken.
 *
 * Exact, by dynamic programming over the distinct values (Fisher 1958, On grouping for maximum homogeneity, J. Am. Stat.
 * Assoc. 53:789-798). With equal weights the same as `ckmeans` of simple-statistics, which takes no weights.
 *
 * @param weights - Above zero, one for each value.
 * @returns Class of each value from 0, rising with the values.
 */
export function optimalClasses(values: readonly number[], weights: readonly number[], most: number): number[] {
  const distinct = [...new Set(values)].sort((a, b) => a - b);
  const n = distinct.length;
  const k = Math.min(most, n);
  if (k === n) return values.map((value) => distinct.indexOf(value));
  const weightAt = distinct.map((value) =>
    values.reduce((sum, other, i) => (other === value ? sum + (weights[i] as number) : sum), 0),
  );
  const cost = withinSquares(distinct, weightAt);
  // least[j]: the best for the first j values in as many classes as rounds so far; cuts[c][j]: where its last class starts.
  let least = Array.from({length: n + 1}, (_, j) => (j === 0 ? 0 : cost(0, j)));
  const cuts: number[][] = [least.map(() => 0)];
  for (let classes = 2; classes <= k; classes++) {
    const next = least.map(() => Infinity);
    const cut = least.map(() => 0);
    for (let j = classes; j <= n; j++) {
      for (let i = classes - 1; i < j; i++) {
        const total = (least[i] as number) + cost(i, j);
        if (total >= (next[j] as number)) continue;
        next[j] = total;
        cut[j] = i;
      }
    }
    least = next;
    cuts.push(cut);
  }
  const classOf = new Map<number, number>();
  for (let c = k - 1, end = n; c >= 0; c--) {
    const start = cuts[c]?.[end] as number;
    for (let i = start; i < end; i++) classOf.set(distinct[i] as number, c);
    end = start;
  }
  return values.map((value) => classOf.get(value) as number);
}

/** Weighted squares of a run about its own mean, from running sums taken about the overall mean to keep the digits. */
function withinSquares(values: readonly number[], weights: readonly number[]): (from: number, to: number) => number {
  const all = weights.reduce((sum, weight) => sum + weight, 0);
  const middle = values.reduce((sum, value, i) => sum + value * (weights[i] as number), 0) / all;
  const [w, s, q] = [[0], [0], [0]] as [number[], number[], number[]];
  values.forEach((value, i) => {
    const [weight, off] = [weights[i] as number, value - middle];
    w.push((w[i] as number) + weight);
    s.push((s[i] as number) + weight * off);
    q.push((q[i] as number) + weight * off * off);
  });
  const between = (sums: readonly number[], from: number, to: number): number =>
    (sums[to] as number) - (sums[from] as number);
  return (from, to) => Math.max(0, between(q, from, to) - between(s, from, to) ** 2 / between(w, from, to));
}
