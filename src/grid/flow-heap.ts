/** Cells waiting by level, lowest first, in typed arrays. Of equal levels any may come first, always the same. */
export class CellHeap {
  private levels: Float64Array;
  private cells: Int32Array;
  private count = 0;

  constructor(room = 1024) {
    this.levels = new Float64Array(room);
    this.cells = new Int32Array(room);
  }

  get size(): number {
    return this.count;
  }

  /** The level of the lowest; Infinity when nothing waits. */
  get level(): number {
    return this.count > 0 ? (this.levels[0] as number) : Infinity;
  }

  clear(): void {
    this.count = 0;
  }

  push(cell: number, level: number): void {
    if (this.count === this.cells.length) this.grow();
    const {levels, cells} = this;
    let at = this.count++;
    while (at > 0) {
      const parent = (at - 1) >> 1;
      if ((levels[parent] as number) <= level) break;
      levels[at] = levels[parent] as number;
      cells[at] = cells[parent] as number;
      at = parent;
    }
    levels[at] = level;
    cells[at] = cell;
  }

  /** Takes the lowest; -1 when nothing waits. */
  pop(): number {
    if (this.count === 0) return -1;
    const {levels, cells} = this;
    const lowest = cells[0] as number;
    const last = --this.count;
    const level = levels[last] as number;
    const cell = cells[last] as number;
    let at = 0;
    for (let child = 1; child < last; child = 2 * at + 1) {
      if (child + 1 < last && (levels[child + 1] as number) < (levels[child] as number)) child++;
      if ((levels[child] as number) >= level) break;
      levels[at] = levels[child] as number;
      cells[at] = cells[child] as number;
      at = child;
    }
    levels[at] = level;
    cells[at] = cell;
    return lowest;
  }

  private grow(): void {
    const {levels, cells} = this;
    this.levels = new Float64Array(2 * levels.length);
    this.cells = new Int32Array(2 * cells.length);
    this.levels.set(levels);
    this.cells.set(cells);
  }
}
