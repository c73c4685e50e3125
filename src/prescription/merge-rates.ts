import {buffer} from "../geo/geos.ts";
import {bordersAmong} from "../geo/neighbours.ts";
import {dissolve} from "../geo/partition.ts";
import type {Polygon} from "../geo/shapes.ts";

export interface MergePiece {
  readonly polygon: Polygon;
  readonly area: number;
  /** lb of each product per acre. */
  readonly rates: readonly number[];
  /** Inside a setback: joins only others that are. */
  readonly held: boolean;
}

export interface MergeOptions {
  /** Neighbours are joined while no ground's rate of any product differs by more from another's in the same polygon. */
  readonly withinLbPerAcre: number;
  /** Polygons under this, or that a disc of this width does not fit into, go to the neighbour with the nearest rate. */
  readonly leastAreaM2: number;
  readonly leastWidthM: number;
}

export interface MergedRates {
  /** Group of each piece; groups are numbered in order of their first piece. */
  readonly groupOf: readonly number[];
  /** Rates of each group. */
  readonly rates: readonly (readonly number[])[];
  readonly close: number;
  readonly small: number;
  /** Groups still too small or too narrow: no neighbour to join. */
  readonly left: readonly number[];
}

interface Group {
  members: number[];
  area: number;
  rates: readonly number[];
  /** Of the rates its ground had. */
  low: readonly number[];
  high: readonly number[];
  /** Area times rate of its ground. */
  lb: readonly number[];
  readonly held: boolean;
  readonly borders: Map<number, number>;
  fits?: boolean;
}

const LEAST_HELD_M2 = 10;

/**
 * Joins neighbouring polygons whose rates are close, then those a machine cannot treat by themselves.
 *
 * Close ones get the mean of their ground, weighted by area; small ones the rate of the polygon they join. The closest,
 * and the smallest, go first; ties go to the longer border, then the lower index. Ground in setbacks joins only ground in
 * setbacks: at equal rates, and left-overs at a rate no higher than their own.
 *
 * @param pieces - Of a coverage: neighbours share vertices.
 * @param options - Absent: only setbacks are joined.
 * @param toMachine - What the machine makes of a mean rate of a product.
 */
export function mergeRates(
  pieces: readonly MergePiece[],
  options: MergeOptions | undefined,
  toMachine: (product: number, lbPerAcre: number) => number,
): MergedRates {
  const map = new Groups(pieces, toMachine);
  map.joinHeld();
  let close = 0;
  let small = 0;
  if (options) {
    close = map.joinClose(options.withinLbPerAcre);
    small = map.joinSmall(options.leastAreaM2, options.leastWidthM);
  }
  const alive = map.alive();
  const numbers = new Map(alive.map((group, n) => [group, n]));
  const groupOf = new Array<number>(pieces.length);
  for (const group of alive) for (const piece of group.members) groupOf[piece] = numbers.get(group) as number;
  const left = options
    ? alive.flatMap((group, n) => (group.held || map.fits(group, options.leastAreaM2, options.leastWidthM) ? [] : [n]))
    : [];
  return {groupOf, rates: alive.map(({rates}) => rates), close, small, left};
}

class Groups {
  private readonly groups: (Group | undefined)[];
  private readonly pieces: readonly MergePiece[];
  private readonly toMachine: (product: number, lbPerAcre: number) => number;

  constructor(pieces: readonly MergePiece[], toMachine: (product: number, lbPerAcre: number) => number) {
    const borders = bordersAmong(pieces.map(({polygon}) => polygon));
    this.pieces = pieces;
    this.toMachine = toMachine;
    this.groups = pieces.map(({area, rates, held}, i) => ({
      members: [i],
      area,
      rates,
      low: rates,
      high: rates,
      lb: rates.map((rate) => rate * area),
      held,
      borders: new Map(borders[i]),
    }));
  }

  alive(): Group[] {
    return this.groups.filter((group) => group !== undefined);
  }

  joinHeld(): void {
    for (let a = 0; a < this.groups.length; a++) {
      for (let again = true; again; ) {
        again = false;
        for (const [b] of this.neighbours(a)) {
          const [one, other] = [this.at(a), this.at(b)];
          if (b < a || !one.held || spread(one, other) > 0) continue;
          this.join(a, b, one.rates);
          again = true;
          break;
        }
      }
    }
    const leftOver = (): number =>
      this.groups.findIndex((g, i) => !!g?.held && g.area < LEAST_HELD_M2 && this.stricter(i) >= 0);
    for (let a = leftOver(); a >= 0; a = leftOver()) this.join(a, this.stricter(a), this.at(this.stricter(a)).rates);
  }

  joinClose(within: number): number {
    let count = 0;
    for (;;) {
      let best: {a: number; b: number; apart: number; border: number} | undefined;
      for (let a = 0; a < this.groups.length; a++) {
        if (!this.groups[a] || this.at(a).held) continue;
        for (const [b, border] of this.neighbours(a)) {
          if (b < a) continue;
          const apart = spread(this.at(a), this.at(b));
          if (apart > within || (best && (apart > best.apart || (apart === best.apart && border <= best.border))))
            continue;
          best = {a, b, apart, border};
        }
      }
      if (!best) return count;
      const [one, other] = [this.at(best.a), this.at(best.b)];
      const area = one.area + other.area;
      const mean = one.rates.map((rate, p) =>
        best.apart === 0 ? rate : this.toMachine(p, ((one.lb[p] as number) + (other.lb[p] as number)) / area),
      );
      this.join(best.a, best.b, mean);
      count++;
    }
  }

  joinSmall(leastAreaM2: number, leastWidthM: number): number {
    let count = 0;
    for (;;) {
      let least = -1;
      this.groups.forEach((group, i) => {
        if (!group || group.held || this.fits(group, leastAreaM2, leastWidthM)) return;
        if (least >= 0 && this.at(least).area <= group.area) return;
        if (this.neighbours(i).length > 0) least = i;
      });
      if (least < 0) return count;
      const mine = this.at(least);
      const [nearest] = this.neighbours(least).sort(
        (a, b) => apart(mine, this.at(a[0])) - apart(mine, this.at(b[0])) || b[1] - a[1] || a[0] - b[0],
      );
      const other = (nearest as [number, number])[0];
      const larger = this.at(other).area >= mine.area ? this.at(other) : mine;
      this.join(least, other, larger.rates);
      count++;
    }
  }

  /** Whether a machine can treat it by itself. */
  fits(group: Group, leastAreaM2: number, leastWidthM: number): boolean {
    group.fits ??= group.area >= leastAreaM2 && this.holdsDisc(group, leastWidthM);
    return group.fits;
  }

  private holdsDisc({members}: Group, widthM: number): boolean {
    if (!(widthM > 0)) return true;
    const faces = members.map((i) => (this.pieces[i] as MergePiece).polygon);
    const shape =
      faces.length === 1
        ? faces
        : dissolve(
            {faces, inside: []},
            faces.map(() => 0),
          )[0]?.shape;
    // A strip of just the width must pass, whatever rounding does to it.
    return buffer(shape ?? [], (-widthM / 2) * (1 - 1e-3)).length > 0;
  }

  /** Neighbours of the same kind with the length of border, by index. */
  private neighbours(a: number): [number, number][] {
    const mine = this.groups[a];
    if (!mine) return [];
    return [...mine.borders].filter(([b]) => this.at(b).held === mine.held).sort((one, other) => one[0] - other[0]);
  }

  /** The neighbour in a setback with the longest border among those with no higher rate of anything; -1 for none. */
  private stricter(a: number): number {
    const mine = this.at(a);
    const found = this.neighbours(a).filter(([b]) =>
      this.at(b).rates.every((rate, p) => rate <= (mine.rates[p] as number)),
    );
    return found.sort((one, other) => other[1] - one[1] || one[0] - other[0])[0]?.[0] ?? -1;
  }

  private join(a: number, b: number, rates: readonly number[]): void {
    const [into, from] = a < b ? [a, b] : [b, a];
    const [kept, gone] = [this.at(into), this.at(from)];
    this.groups[from] = undefined;
    kept.members = [...kept.members, ...gone.members].sort((x, y) => x - y);
    kept.area += gone.area;
    kept.rates = rates;
    kept.low = kept.low.map((low, p) => Math.min(low, gone.low[p] as number));
    kept.high = kept.high.map((high, p) => Math.max(high, gone.high[p] as number));
    kept.lb = kept.lb.map((lb, p) => lb + (gone.lb[p] as number));
    delete kept.fits;
    for (const [neighbour, length] of gone.borders) {
      const theirs = this.at(neighbour === into ? into : neighbour).borders;
      theirs.delete(from);
      if (neighbour === into) continue;
      kept.borders.set(neighbour, (kept.borders.get(neighbour) ?? 0) + length);
      theirs.set(into, kept.borders.get(neighbour) as number);
    }
  }

  private at(i: number): Group {
    return this.groups[i] as Group;
  }
}

/** The largest difference of a rate between any ground of two groups. */
function spread(a: Group, b: Group): number {
  return a.rates.reduce((most, _, p) => {
    const high = Math.max(a.high[p] as number, b.high[p] as number);
    return Math.max(most, high - Math.min(a.low[p] as number, b.low[p] as number));
  }, 0);
}

/** How far apart the rates of two groups are. */
function apart(a: Group, b: Group): number {
  return a.rates.reduce((most, rate, p) => Math.max(most, Math.abs(rate - (b.rates[p] as number))), 0);
}
