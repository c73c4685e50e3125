import type {XY} from "./shapes.ts";

/**
 * A line without its least telling points: again and again the point goes that makes the smallest triangle with its
 * neighbours, the earliest of equals, until all triangles reach `leastAreaM2`.
 *
 * Ends stay. A ring (first point repeated) keeps at least four corners, or what it has when it has fewer.
 *
 * Source: Visvalingam and Whyatt (1993), Line generalisation by repeated elimination of points, Cartogr. J. 30:46-51.
 */
export function simplifyLine(points: readonly XY[], leastAreaM2: number): XY[] {
  const closed = isRing(points);
  const count = closed ? points.length - 1 : points.length;
  const before = new Int32Array(count);
  const after = new Int32Array(count);
  for (let i = 0; i < count; i++) {
    before[i] = i > 0 || !closed ? i - 1 : count - 1;
    after[i] = i < count - 1 ? i + 1 : closed ? 0 : -1;
  }
  const area = new Float64Array(count);
  const queue = new SmallestFirst(count);
  const measure = (i: number): void => {
    const p = before[i] as number;
    const q = after[i] as number;
    const size = p === -1 || q === -1 ? Infinity : triangleAreaM2(points[p] as XY, points[i] as XY, points[q] as XY);
    area[i] = size;
    if (size < leastAreaM2) queue.push(size, i);
  };
  for (let i = 0; i < count; i++) measure(i);
  const gone = new Uint8Array(count);
  let left = count;
  while (left > (closed ? 4 : 2) && queue.length > 0) {
    const size = queue.leastSize;
    const item = queue.pop();
    // A point is measured anew whenever a neighbour goes; its older entries are stale.
    if (gone[item] || area[item] !== size) continue;
    gone[item] = 1;
    left--;
    const p = before[item] as number;
    const q = after[item] as number;
    after[p] = q;
    before[q] = p;
    measure(p);
    measure(q);
  }
  const kept: XY[] = [];
  for (let i = 0; i < count; i++) if (!gone[i]) kept.push(points[i] as XY);
  if (closed) kept.push(kept[0] as XY);
  return kept;
}

/** Area of the triangle three points make, square metres. */
export function triangleAreaM2(a: XY, b: XY, c: XY): number {
  return Math.abs((b.x - a.x) * (c.y - a.y) - (c.x - a.x) * (b.y - a.y)) / 2;
}

/** True when the last point repeats the first. */
export function isRing(points: readonly XY[]): boolean {
  const first = points[0];
  const last = points.at(-1);
  return points.length > 2 && first?.x === last?.x && first?.y === last?.y;
}

/** A binary heap of numbered items, smallest size first, then lowest number. */
class SmallestFirst {
  length = 0;
  private readonly sizes: Float64Array;
  private readonly items: Int32Array;

  /** @param count - Of items: each is pushed once at first, and two more whenever one goes. */
  constructor(count: number) {
    this.sizes = new Float64Array(3 * count);
    this.items = new Int32Array(3 * count);
  }

  get leastSize(): number {
    return this.sizes[0] as number;
  }

  push(size: number, item: number): void {
    const {sizes, items} = this;
    let at = this.length++;
    while (at > 0) {
      const above = (at - 1) >> 1;
      const other = sizes[above] as number;
      if (other < size || (other === size && (items[above] as number) <= item)) break;
      sizes[at] = other;
      items[at] = items[above] as number;
      at = above;
    }
    sizes[at] = size;
    items[at] = item;
  }

  /** Item of the smallest size. */
  pop(): number {
    const {sizes, items} = this;
    const least = items[0] as number;
    const length = --this.length;
    const size = sizes[length] as number;
    const item = items[length] as number;
    let at = 0;
    for (;;) {
      let below = 2 * at + 1;
      if (below >= length) break;
      if (below + 1 < length) {
        const [p, q] = [sizes[below] as number, sizes[below + 1] as number];
        if (q < p || (q === p && (items[below + 1] as number) < (items[below] as number))) below++;
      }
      const other = sizes[below] as number;
      if (size < other || (size === other && item <= (items[below] as number))) break;
      sizes[at] = other;
      items[at] = items[below] as number;
      at = below;
    }
    sizes[at] = size;
    items[at] = item;
    return least;
  }
}
