import {conflictingLines} from "./line-conflicts.ts";
import type {XY} from "./shapes.ts";
import {simplifyLine} from "./simplify-line.ts";
import {smoothLine} from "./smooth-line.ts";

/** Ways to redraw a line, from the most to the least changed; as traced is the last resort. */
const WAYS: readonly ((line: readonly XY[], sizeM: number) => readonly XY[])[] = [
  (line, size) => {
    const plain = simplifyLine(line, size * size);
    return simplifyLine(smoothLine(plain, 3), 0.01 * size * size);
  },
  (line, size) => simplifyLine(smoothLine(line, 1), 0.01 * size * size),
  (line) => line,
];

/**
 * Lines traced on cells, redrawn as a person would: small wiggles dropped, corners rounded, few points where straight.
 *
 * Ends stay, so lines that met still meet. A line that would cross, touch or run over another is redrawn less, in the
 * end not at all; lines as given must be free of such conflicts.
 *
 * @param sizeM - Size of the cells, metres: wiggles under about half a cell and spurs one cell wide are smoothed away.
 */
export function softenLines(lines: readonly (readonly XY[])[], sizeM: number): (readonly XY[])[] {
  const way = new Uint8Array(lines.length);
  const drawn = lines.map((line) => (WAYS[0] as (typeof WAYS)[number])(line, sizeM));
  for (;;) {
    const retry = conflictingLines(drawn).filter((i) => (way[i] as number) < WAYS.length - 1);
    if (retry.length === 0) return drawn;
    for (const i of retry) {
      way[i] = (way[i] as number) + 1;
      drawn[i] = (WAYS[way[i] as number] as (typeof WAYS)[number])(lines[i] as readonly XY[], sizeM);
    }
  }
}
