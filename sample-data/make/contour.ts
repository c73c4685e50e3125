import type {Box, XY} from "../../src/geo/shapes.ts";
import type {Surface} from "./noise.ts";

/**
 * Where a surface passes a level, as two-point lines over a box of whole steps (marching squares, saddles by the
 * mean of their corners). Neighbouring lines end in exactly the same point, and lines end exactly on the box.
 */
export function contourLines(surface: Surface, level: number, box: Box, stepM: number): XY[][] {
  const cols = Math.round((box.east - box.west) / stepM);
  const rows = Math.round((box.north - box.south) / stepM);
  const values = Float64Array.from({length: (cols + 1) * (rows + 1)}, (_, i) => {
    const {x, y} = node(i % (cols + 1), Math.floor(i / (cols + 1)));
    return surface(x, y) - level;
  });
  const lines: XY[][] = [];
  for (let row = 0; row < rows; row++) {
    for (let col = 0; col < cols; col++) {
      const [sw, se, ne, nw] = [at(col, row), at(col + 1, row), at(col + 1, row + 1), at(col, row + 1)];
      const south = crossing(col, row, col + 1, row);
      const east = crossing(col + 1, row, col + 1, row + 1);
      const north = crossing(col, row + 1, col + 1, row + 1);
      const west = crossing(col, row, col, row + 1);
      const found = [south, east, north, west].filter((p) => p !== undefined);
      if (found.length === 2) {
        lines.push(found);
      } else if (found.length === 4) {
        const [s, e, n, w] = found as [XY, XY, XY, XY];
        const joined = sw + se + ne + nw >= 0 === sw >= 0;
        lines.push(
          ...(joined
            ? [
                [s, e],
                [n, w],
              ]
            : [
                [s, w],
                [n, e],
              ]),
        );
      }
    }
  }
  return lines;

  function node(col: number, row: number): XY {
    return {x: box.west + col * stepM, y: box.south + row * stepM};
  }
  function at(col: number, row: number): number {
    return values[row * (cols + 1) + col] as number;
  }
  function crossing(colA: number, rowA: number, colB: number, rowB: number): XY | undefined {
    const a = at(colA, rowA);
    const b = at(colB, rowB);
    if (a >= 0 === b >= 0) return undefined;
    const from = node(colA, rowA);
    const t = a / (a - b);
    return {x: from.x + t * (colB - colA) * stepM, y: from.y + t * (rowB - rowA) * stepM};
  }
}
