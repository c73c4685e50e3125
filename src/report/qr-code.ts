import {encode} from "uqr";

/** Quiet zone the standard asks for, in modules. */
const QUIET = 4;

/**
 * A text as a QR code (ISO/IEC 18004), error correction level M: an SVG with its quiet zone, black on white, drawn as
 * one path of whole rows so that no hairlines show between modules in print.
 *
 * Sample ids of up to 20 capital letters, digits and hyphens give the smallest code, 21 by 21 modules.
 *
 * @param size - Side of the picture with the quiet zone, as CSS, such as `"24mm"`.
 */
export function qrSvg(text: string, size: string): string {
  const modules = qrModules(text);
  const side = modules.length + 2 * QUIET;
  const bars = modules.map((row, y) => barsOf(row, y + QUIET)).join("");
  return `<svg class="qr" width="${size}" height="${size}" viewBox="0 0 ${side} ${side}" shape-rendering="crispEdges" role="img" aria-label="QR code"><rect width="${side}" height="${side}" fill="#fff"/><path d="${bars}" fill="#000"/></svg>`;
}

/** Rows of modules, true for dark, without the quiet zone. */
export function qrModules(text: string): readonly (readonly boolean[])[] {
  return encode(text, {ecc: "M", border: 0}).data;
}

/** The dark runs of a row as rectangles. */
function barsOf(row: readonly boolean[], y: number): string {
  const bars: string[] = [];
  for (let x = 0; x < row.length; x++) {
    if (!row[x]) continue;
    const from = x;
    while (row[x + 1]) x++;
    bars.push(`M${from + QUIET} ${y}h${x + 1 - from}v1h-${x + 1 - from}z`);
  }
  return bars.join("");
}
