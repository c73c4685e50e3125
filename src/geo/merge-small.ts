/** Patches of a map: what they are, how large, and which touch. */
export interface Patches {
  readonly labels: ArrayLike<number>;
  readonly areasM2: ArrayLike<number>;
  /** Length of border with each neighbour, any unit. */
  readonly borders: readonly ReadonlyMap<number, number>[];
  /**
   * Row-major, one row per patch, one column per label from 1: how ill the label suits the patch, times the patch's
   * area (so that it adds up when patches merge). Left out, all labels suit alike.
   */
  readonly misfit?: Float64Array;
}

/**
 * Gives patches under a minimum area to a neighbour, the smallest first, until none is left that has a neighbour.
 *
 * The neighbour is the one with the largest share of the border times exp(-misfit): next to equally long borders the
 * more similar one, next to equal ones the longer border. Ties go to the lowest patch. Touching patches of one label
 * are one patch.
 *
 * @returns New label of each patch.
 */
export function mergeSmall(patches: Patches, leastAreaM2: number): Int32Array {
  const map = new MergingPatches(patches);
  for (let p = 0; p < patches.labels.length; p++) map.joinEqualNeighbours(p);
  for (;;) {
    const small = map.smaller(leastAreaM2);
    if (small.length === 0) return map.labelOfEach();
    for (const {patch, areaM2} of small) {
      // One that has grown or gone since the list was made waits for the next.
      if (map.rootOf(patch) !== patch || map.areasM2[patch] !== areaM2) continue;
      map.relabel(patch, map.bestNeighbour(patch));
    }
  }
}

class MergingPatches {
  readonly areasM2: Float64Array;
  private readonly labels: Int32Array;
  private readonly parent: Int32Array;
  private readonly borders: Map<number, number>[];
  private readonly misfit: Float64Array | undefined;
  private readonly columns: number;

  constructor({labels, areasM2, borders, misfit}: Patches) {
    this.labels = Int32Array.from(labels);
    this.areasM2 = Float64Array.from(areasM2);
    this.parent = Int32Array.from(this.labels.keys());
    this.borders = borders.map((own) => new Map(own));
    this.misfit = misfit?.slice();
    this.columns = misfit ? misfit.length / labels.length : 0;
  }

  rootOf(patch: number): number {
    let root = patch;
    while (this.parent[root] !== root) root = this.parent[root] as number;
    this.parent[patch] = root;
    return root;
  }

  labelOfEach(): Int32Array {
    return this.labels.map((_, patch) => this.labels[this.rootOf(patch)] as number);
  }

  smaller(leastAreaM2: number): {patch: number; areaM2: number}[] {
    const small: {patch: number; areaM2: number}[] = [];
    this.areasM2.forEach((areaM2, patch) => {
      if (this.parent[patch] !== patch || !(areaM2 < leastAreaM2)) return;
      if ((this.borders[patch] as Map<number, number>).size > 0) small.push({patch, areaM2});
    });
    return small.sort((a, b) => a.areaM2 - b.areaM2 || a.patch - b.patch);
  }

  bestNeighbour(patch: number): number {
    const borders = this.borders[patch] as Map<number, number>;
    let whole = 0;
    for (const length of borders.values()) whole += length;
    let best = -1;
    let bestScore = -Infinity;
    for (const [neighbour, length] of borders) {
      const score = Math.log(length / whole) - this.meanMisfit(patch, this.labels[neighbour] as number);
      if (score > bestScore || (score === bestScore && neighbour < best)) {
        best = neighbour;
        bestScore = score;
      }
    }
    return best;
  }

  relabel(patch: number, neighbour: number): void {
    this.labels[patch] = this.labels[neighbour] as number;
    this.joinEqualNeighbours(patch);
  }

  joinEqualNeighbours(patch: number): void {
    let root = this.rootOf(patch);
    for (const neighbour of [...(this.borders[root] as Map<number, number>).keys()]) {
      const other = this.rootOf(neighbour);
      if (other !== root && this.labels[other] === this.labels[root]) root = this.join(root, other);
    }
  }

  private join(a: number, b: number): number {
    const [kept, gone] = a < b ? [a, b] : [b, a];
    this.parent[gone] = kept;
    this.areasM2[kept] = (this.areasM2[kept] as number) + (this.areasM2[gone] as number);
    for (let c = 0; c < this.columns; c++) this.addMisfit(kept, gone, c);
    const borders = this.borders[kept] as Map<number, number>;
    for (const [neighbour, length] of this.borders[gone] as Map<number, number>) {
      const theirs = this.borders[neighbour] as Map<number, number>;
      theirs.delete(gone);
      if (neighbour === kept) continue;
      borders.set(neighbour, (borders.get(neighbour) ?? 0) + length);
      theirs.set(kept, borders.get(neighbour) as number);
    }
    return kept;
  }

  private addMisfit(kept: number, gone: number, column: number): void {
    const misfit = this.misfit as Float64Array;
    const at = kept * this.columns + column;
    misfit[at] = (misfit[at] as number) + (misfit[gone * this.columns + column] as number);
  }

  private meanMisfit(patch: number, label: number): number {
    if (!this.misfit) return 0;
    return (this.misfit[patch * this.columns + label - 1] as number) / (this.areasM2[patch] as number);
  }
}
