/** How clearly rows belong to one cluster each. Compare only partitions made with one exponent. */
export interface FuzzyIndices {
  /** F, mean sum of squared memberships: from 1/c, all alike, to 1, crisp. */
  readonly partition: number;
  /** Fuzziness performance index, c/(c-1) · (1-F): 0 crisp, 1 uniform. NaN for one cluster. */
  readonly fpi: number;
  /** H, mean of -Σ u ln u: from 0, crisp, to ln c. */
  readonly entropy: number;
  /** H / ln c: 0 to 1, fair between numbers of clusters. NaN for one cluster. */
  readonly entropyByLog: number;
  /** H / (1 - c/n): grows with ln c, so it nearly always prefers the fewest clusters. NaN when there are no more rows. */
  readonly entropyBySize: number;
}

/**
 * Fuzziness performance index, and normalised classification entropy in both forms in use.
 *
 * The index is often printed as 1 - c/(c-1) · (1-F), which runs the other way; here 0 is crisp.
 *
 * @param memberships - Row-major; rows with NaN are skipped.
 *
 * Source: Bezdek (1981) for F, H and H/(1-c/n), after Dunn (1974); McBratney and Moore (1985), Agric. For. Meteorol.
 * 35:165-185, and Odeh et al. (1992), Soil Sci. Soc. Am. J. 56:505-516, for FPI and H/ln c (from memory).
 */
export function fuzzyIndices(memberships: Float64Array, count: number): FuzzyIndices {
  let rows = 0;
  let squares = 0;
  let entropy = 0;
  for (let i = 0; i < memberships.length; i += count) {
    if (Number.isNaN(memberships[i])) continue;
    rows++;
    for (let j = i; j < i + count; j++) {
      const u = memberships[j] as number;
      squares += u * u;
      if (u > 0) entropy -= u * Math.log(u);
    }
  }
  const partition = squares / rows;
  const h = entropy / rows;
  return {
    partition,
    fpi: count > 1 ? (count / (count - 1)) * (1 - partition) : Number.NaN,
    entropy: h,
    entropyByLog: count > 1 ? h / Math.log(count) : Number.NaN,
    entropyBySize: rows > count ? h / (1 - count / rows) : Number.NaN,
  };
}
