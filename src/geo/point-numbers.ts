import type {XY} from "./shapes.ts";

/** Numbers points from 0 in the order they are first seen; equal coordinates have one number. */
export class PointNumbers {
  readonly points: XY[] = [];
  private readonly columns = new Map<number, Map<number, number>>();

  of(p: XY): number {
    let column = this.columns.get(p.x);
    if (!column) {
      column = new Map();
      this.columns.set(p.x, column);
    }
    let number = column.get(p.y);
    if (number === undefined) {
      number = this.points.push(p) - 1;
      column.set(p.y, number);
    }
    return number;
  }
}

/** One number for a directed edge between two numbered points. */
export function edgeNumber(from: number, to: number): number {
  return from * 2 ** 26 + to;
}
