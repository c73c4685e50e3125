// What stands in an unpacked block of a TIFF: samples of one kind, turned into numbers of this machine.

export type Samples =
  | Uint8Array
  | Int8Array
  | Uint16Array
  | Int16Array
  | Uint32Array
  | Int32Array
  | Float32Array
  | Float64Array;
type ArrayOfSamples = new (buffer: ArrayBuffer, offset: number, length: number) => Samples;

/** By sample format of TIFF 6.0 (1 whole, 2 signed, 3 floating) and bits. */
const SAMPLES: Readonly<Record<number, Readonly<Record<number, ArrayOfSamples>>>> = {
  1: {8: Uint8Array, 16: Uint16Array, 32: Uint32Array},
  2: {8: Int8Array, 16: Int16Array, 32: Int32Array},
  3: {32: Float32Array, 64: Float64Array},
};

/** The typed array that holds samples of a format and width, undefined for rare ones. */
export function arrayOfSamples(format: number, bits: number): ArrayOfSamples | undefined {
  return SAMPLES[format]?.[bits];
}

/** Every sample's bytes in the other order, in place. */
export function swapBytes({buffer, byteOffset, byteLength, BYTES_PER_ELEMENT: size}: Samples): void {
  if (size === 2) {
    const two = new Uint16Array(buffer, byteOffset, byteLength / 2);
    for (let i = 0; i < two.length; i++) {
      const v = two[i] as number;
      two[i] = (v << 8) | (v >>> 8);
    }
    return;
  }
  if (size < 4) return;
  const four = new Uint32Array(buffer, byteOffset, byteLength / 4);
  for (let i = 0; i < four.length; i++) {
    const v = four[i] as number;
    four[i] = (v << 24) | ((v & 0xff00) << 8) | ((v >>> 8) & 0xff00) | (v >>> 24);
  }
  if (size < 8) return;
  for (let i = 0; i < four.length; i += 2) {
    const v = four[i] as number;
    four[i] = four[i + 1] as number;
    four[i + 1] = v;
  }
}

export const LITTLE_ENDIAN_HOST = new Uint8Array(Uint16Array.of(1).buffer)[0] === 1;

/**
 * Differences undone in place, row by row, as in TIFF 6.0, section 14 (2: of whole numbers) and in Adobe's technical
 * note 3 (3: of floating numbers, whose bytes stand apart, the highest first).
 *
 * @param perRow - Samples in a row, all bands.
 * @param perCell - Samples from one cell to the next.
 * @throws {Error} for any other predictor but 1, which is none, and for whole numbers of eight bytes.
 */
export function undoPredictor(samples: Samples, predictor: number, perRow: number, perCell: number): void {
  if (predictor === 1) return;
  const {byteOffset, length, BYTES_PER_ELEMENT: size} = samples;
  const buffer = samples.buffer as ArrayBuffer;
  const Whole = {1: Uint8Array, 2: Uint16Array, 4: Uint32Array}[size];
  if (predictor === 2 && Whole) {
    addUp(new Whole(buffer, byteOffset, length), perRow, perCell);
  } else if (predictor === 3) {
    const bytes = new Uint8Array(buffer, byteOffset, length * size);
    addUp(bytes, perRow * size, perCell);
    for (let start = 0; start < bytes.length; start += perRow * size) {
      bringTogether(bytes.subarray(start, start + perRow * size), size);
    }
  } else {
    throw new Error("it is predicted in another way");
  }
}

function addUp(values: Uint8Array | Uint16Array | Uint32Array, perRow: number, perCell: number): void {
  for (let start = 0; start < values.length; start += perRow) {
    const end = Math.min(values.length, start + perRow);
    for (let i = start + perCell; i < end; i++) values[i] = (values[i] as number) + (values[i - perCell] as number);
  }
}

/** All first bytes, then all second ones and so on: into one number after another. */
function bringTogether(row: Uint8Array, size: number): void {
  const apart = row.slice();
  const count = row.length / size;
  for (let byte = 0; byte < size; byte++) {
    const place = LITTLE_ENDIAN_HOST ? size - 1 - byte : byte;
    for (let i = 0; i < count; i++) row[i * size + place] = apart[byte * count + i] as number;
  }
}
