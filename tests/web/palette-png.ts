import {crc32, deflateSync} from "node:zlib";

export interface Pixels {
  readonly width: number;
  readonly height: number;
  /** Four bytes a pixel, row 0 at the top; what lets through is taken for solid. */
  readonly rgba: Uint8Array;
}

const MOST_COLOURS = 256;

/**
 * A PNG of at most 256 colours, the most frequent; every other pixel takes the nearest of them. Flat drawings and text
 * keep their looks in a third of the bytes.
 *
 * Source: Portable Network Graphics, W3C Recommendation, colour type 3 and chunk PLTE.
 */
export function palettePng({width, height, rgba}: Pixels): Uint8Array {
  const counts = new Map<number, number>();
  for (let at = 0; at < rgba.length; at += 4) {
    const colour = colourAt(rgba, at);
    counts.set(colour, (counts.get(colour) ?? 0) + 1);
  }
  const palette = [...counts]
    .sort(([a, often], [b, rarer]) => rarer - often || a - b)
    .slice(0, MOST_COLOURS)
    .map(([colour]) => colour);
  const places = new Map(palette.map((colour, i) => [colour, i]));
  const rows = Buffer.alloc(height * (width + 1));
  for (let y = 0; y < height; y++) {
    for (let x = 0; x < width; x++) {
      const colour = colourAt(rgba, 4 * (y * width + x));
      const place = places.get(colour) ?? nearest(colour, palette);
      places.set(colour, place);
      // Each row begins with the filter it went through: 0 for none.
      rows[y * (width + 1) + 1 + x] = place;
    }
  }
  const header = Buffer.alloc(13);
  header.writeUInt32BE(width, 0);
  header.writeUInt32BE(height, 4);
  header.set([8, 3, 0, 0, 0], 8);
  return Buffer.concat([
    Buffer.from([0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a]),
    chunk("IHDR", header),
    chunk("PLTE", Buffer.from(palette.flatMap(channels))),
    chunk("IDAT", deflateSync(rows, {level: 9})),
    chunk("IEND", Buffer.alloc(0)),
  ]);
}

const colourAt = (rgba: Uint8Array, at: number): number =>
  ((rgba[at] ?? 0) << 16) | ((rgba[at + 1] ?? 0) << 8) | (rgba[at + 2] ?? 0);

const channels = (colour: number): [number, number, number] => [colour >> 16, (colour >> 8) & 255, colour & 255];

function nearest(colour: number, palette: readonly number[]): number {
  const [red, green, blue] = channels(colour);
  let [best, least] = [0, Infinity];
  palette.forEach((other, i) => {
    const [r, g, b] = channels(other);
    const away = (r - red) ** 2 + (g - green) ** 2 + (b - blue) ** 2;
    if (away < least) [best, least] = [i, away];
  });
  return best;
}

/** Length, type, data, and a checksum over the last two. */
function chunk(type: string, data: Buffer): Buffer {
  const named = Buffer.concat([Buffer.from(type), data]);
  const [length, sum] = [Buffer.alloc(4), Buffer.alloc(4)];
  length.writeUInt32BE(data.length);
  sum.writeUInt32BE(crc32(named));
  return Buffer.concat([length, named, sum]);
}
