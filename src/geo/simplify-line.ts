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
  const before = Int32Array.from({length: count}, (_, i) => (i > 0 || !closed ? i - 1 : count - 1));
  const after = Int32Array.from({length: count}, (_, i) => (i < count - 1 ? i + 1 : closed ? 0 : -1));
  const area = new Float64Array(count);
  const queue = new SmallestFirst();
  const measure = (i: number): void => {
    const [p, q] = [before[i] as number, after[i] as number];
    area[i] = p === -1 || q === -1 ? Infinity : triangleAreaM2(points[p] as XY, points[i] as XY, points[q] as XY);
    if ((area[i] as number) < leastAreaM2) queue.push(area[i] as number, i);
  };
  for (let i = 0; i < count; i++) measure(i);
  const gone = new Uint8Array(count);
  let left = count;
  while (left > (closed ? 4 : 2)) {
    const next = queue.pop();
    if (!next) break;
    // A point is measured anew whenever a neighbour goes; its older entries are stale.
    if (gone[next.item] || area[next.item] !== next.size) continue;
    gone[next.item] = 1;
    left--;
    const [p, q] = [before[next.item] as number, after[next.item] as number];
    after[p] = q;
    before[q] = p;
    measure(p);
    measure(q);
  }
  const kept = points.slice(0, count).filter((_, i) => !gone[i]);
  return closed ? [...kept, kept[0] as XY] : kept;
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
  private readonly sizes: number[] = [];
  private readonly items: number[] = [];

  push(size: number, item: number): void {
    let at = this.sizes.push(size) - 1;
    this.items.push(item);
    while (at > 0 && this.before(at, (at - 1) >> 1)) at = this.swap(at, (at - 1) >> 1);
  }

  pop(): {size: number; item: number} | undefined {
    const {sizes, items} = this;
    if (sizes.length === 0) return undefined;
    this.swap(0, sizes.length - 1);
    const top = {size: sizes.pop() as number, item: items.pop() as number};
    for (let at = 0; ; ) {
      let least = at;
      if (2 * at + 1 < sizes.length && this.before(2 * at + 1, least)) least = 2 * at + 1;
      if (2 * at + 2 < sizes.length && this.before(2 * at + 2, least)) least = 2 * at + 2;
      if (least === at) return top;
      at = this.swap(at, least);
    }
  }

  private before(i: number, j: number): boolean {
    const [a, b] = [this.sizes[i] as number, this.sizes[j] as number];
    return a < b || (a === b && (this.items[i] as number) < (this.items[j] as number));
  }

  /** Returns `j`, where the moved entry now is. */
  private swap(i: number, j: number): number {
    const {sizes, items} = this;
    const [size, item] = [sizes[i] as number, items[i] as number];
    sizes[i] = sizes[j] as number;
    items[i] = items[j] as number;
    sizes[j] = size;
    items[j] = item;
    return j;
  }
}
