/** One thing to mix: what a pound of it costs and how much of each wanted thing it holds. */
export interface Ingredient {
  readonly cost: number;
  readonly holds: readonly number[];
}

/**
 * The cheapest non-negative amounts that hold exactly what is wanted, or undefined when none do.
 *
 * A linear program with as many equations as wanted things. Its optimum, where there is one, lies at a basic solution,
 * that is with at most that many ingredients in use (Dantzig 1963), so all such sets are tried: exact, and at once for
 * the handful of products a dealer has. Ties go to the earlier ingredients.
 *
 * @param wanted - At most 4 amounts, none negative.
 * @param ingredients - At most 30.
 */
export function cheapestMix(wanted: readonly number[], ingredients: readonly Ingredient[]): number[] | undefined {
  if (wanted.length > 4 || ingredients.length > 30) throw new Error("too many products or nutrients to mix");
  if (wanted.every((amount) => amount === 0)) return ingredients.map(() => 0);
  let best: number[] | undefined;
  let least = Infinity;
  for (const chosen of choices(ingredients.length, wanted.length)) {
    const amounts = solve(
      chosen.map((i) => (ingredients[i] as Ingredient).holds),
      wanted,
    );
    if (!amounts?.every((amount) => amount >= -1e-9)) continue;
    const cost = chosen.reduce((sum, i, k) => sum + (ingredients[i] as Ingredient).cost * (amounts[k] as number), 0);
    if (cost >= least - 1e-9) continue;
    least = cost;
    best = ingredients.map(() => 0);
    for (const [k, i] of chosen.entries()) best[i] = Math.max(0, amounts[k] as number);
  }
  return best;
}

/** All sets of one to `most` of `count` things, in rising order. */
function* choices(count: number, most: number, from = 0, taken: readonly number[] = []): Generator<readonly number[]> {
  for (let i = from; i < count; i++) {
    const next = [...taken, i];
    yield next;
    if (next.length < most) yield* choices(count, most, i + 1, next);
  }
}

/** Amounts of each column that add up to `wanted`, by elimination with pivoting; undefined when there are none or many. */
function solve(columns: readonly (readonly number[])[], wanted: readonly number[]): number[] | undefined {
  const rows = wanted.map((amount, r) => [...columns.map((column) => column[r] as number), amount]);
  const k = columns.length;
  for (let c = 0; c < k; c++) {
    let pivot = c;
    for (let r = c; r < rows.length; r++) if (size(rows, r, c) > size(rows, pivot, c)) pivot = r;
    if (rows.length <= c || size(rows, pivot, c) < 1e-12) return undefined;
    [rows[c], rows[pivot]] = [rows[pivot] as number[], rows[c] as number[]];
    const top = rows[c] as number[];
    for (const [r, row] of rows.entries()) {
      if (r === c) continue;
      const factor = (row[c] as number) / (top[c] as number);
      for (let j = c; j <= k; j++) row[j] = (row[j] as number) - factor * (top[j] as number);
    }
  }
  const scale = Math.max(1, ...wanted);
  // Rows beyond the columns must have come to nothing, or the wanted amounts cannot be met.
  if (rows.slice(k).some((row) => Math.abs(row[k] as number) > 1e-9 * scale)) return undefined;
  return rows.slice(0, k).map((row, i) => (row[k] as number) / (row[i] as number));
}

function size(rows: readonly number[][], row: number, column: number): number {
  return Math.abs(rows[row]?.[column] ?? 0);
}
