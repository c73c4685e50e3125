import type {XY} from "./shapes.ts";

/** Points rounded to a grid and numbered from 0 in the order they are first seen; each is one object. */
export class GridPoints {
  readonly points: XY[] = [];
  private readonly step: number;
  private readonly table: Int32Array;
  private readonly shift: number;
  private readonly nodes: Uint8Array;

  /** @param most - Most points that may be given, those told apart and those that fall together. */
  constructor(step: number, most: number) {
    const bits = Math.ceil(Math.log2(2 * most + 16)) + 1;
    this.step = step;
    this.table = new Int32Array(2 ** bits);
    this.shift = 32 - bits;
    this.nodes = new Uint8Array(2 ** bits);
  }

  get size(): number {
    return this.points.length;
  }

  /** Number of the grid point nearest to a position. One that is used twice is a node. */
  use(x: number, y: number): number {
    const {step, table, points} = this;
    // Adding 0 makes -0 a plain one.
    const column = Math.round(x / step) + 0;
    const row = Math.round(y / step) + 0;
    const px = column * step;
    const py = row * step;
    // Positions are often round in metres, so high and low digits are mixed.
    let hash = Math.imul(column ^ Math.imul(column / 65536, 0x9e3779b1), 0x85ebca6b);
    hash = Math.imul(hash ^ (hash >>> 15) ^ row ^ Math.imul(row / 65536, 0xc2b2ae35), 0x27d4eb2f);
    for (let at = (hash ^ (hash >>> 13)) >>> this.shift; ; at = (at + 1) & (table.length - 1)) {
      const number = (table[at] as number) - 1;
      if (number === -1) {
        table[at] = points.push({x: px, y: py});
        return points.length - 1;
      }
      const p = points[number] as XY;
      if (p.x !== px || p.y !== py) continue;
      this.nodes[number] = 1;
      return number;
    }
  }

  isNode(number: number): boolean {
    return this.nodes[number] === 1;
  }

  makeNode(number: number): void {
    this.nodes[number] = 1;
  }

  /** Whether a position that is known to within `error` has one nearest grid point. */
  surelyRounds(x: number, y: number, error: number): boolean {
    const sure = (v: number): boolean => {
      const steps = v / this.step;
      return Math.abs(steps - Math.floor(steps) - 0.5) > error / this.step;
    };
    return sure(x) && sure(y);
  }
}
