import {addDecoder, BaseDecoder, fromArrayBuffer, type GeoTIFFImage, getDecoder, writeArrayBuffer} from "geotiff";
import {FieldError, isFieldError} from "../errors.ts";
import {formatNumber} from "../units/format.ts";
import {unpackDeflate, unpackLzw, unpackPackBits} from "./tiff-blocks.ts";
import {arrayOfSamples, LITTLE_ENDIAN_HOST, swapBytes, undoPredictor} from "./tiff-samples.ts";

// The one door to the geotiff package. What the numbers in its tags mean is decided in read-geotiff.ts.

const MOST_BLOCK_BYTES = 2 ** 28;
/** Ways of packing with a decoder that is safe on damaged data (see tiff-blocks.ts). */
const PACKINGS = {stored: [1], lzw: [5], deflate: [8, 32946], packBits: [32773]};

type Tag =
  | "Compression"
  | "PhotometricInterpretation"
  | "ModelPixelScale"
  | "ModelTiepoint"
  | "ModelTransformation"
  | "GDAL_NODATA";

/** What the first image of a TIFF says of itself. */
export interface Tiff {
  readonly cols: number;
  readonly rows: number;
  readonly bands: number;
  readonly photometric: number | undefined;
  /** GeoTIFF keys by their names in the package. */
  readonly keys: Readonly<Record<string, unknown>>;
  readonly pixelScale: readonly number[] | undefined;
  readonly tiePoints: readonly number[] | undefined;
  readonly transformation: readonly number[] | undefined;
  /** The no-data value as printed in the file, empty when it has none. */
  readonly noData: string;
  /** Items that GDAL keeps for the first band: SCALE, OFFSET, UNITTYPE. */
  readonly metadata: Readonly<Record<string, unknown>>;
  /** Cells of the first band in a window of columns and rows, far ends not included. */
  readonly read: (window: readonly [left: number, top: number, right: number, bottom: number]) => Promise<Float64Array>;
}

/** @throws {FieldError} `tif/damaged`, `tif/too-large`; `read` too. */
export async function openTiff(bytes: Uint8Array, name: string): Promise<Tiff> {
  useOwnDecoders();
  return guarded(name, async () => {
    // The package reads the whole buffer, so a piece of a larger one is copied out.
    const whole = bytes.byteLength === bytes.buffer.byteLength ? bytes : bytes.slice();
    const image = await (await fromArrayBuffer(whole.buffer as ArrayBuffer)).getImage();
    const load = async (tag: Tag): Promise<unknown> =>
      image.fileDirectory.hasTag(tag) ? image.fileDirectory.loadValue(tag) : undefined;
    const blockBytes = image.getTileWidth() * image.getTileHeight() * image.getBytesPerPixel();
    if (!(image.getWidth() > 0 && image.getHeight() > 0 && blockBytes > 0)) throw new Error("it has no cells");
    if (blockBytes > MOST_BLOCK_BYTES) throw tooLarge(name, blockBytes);
    const numbers = async (tag: Tag): Promise<number[] | undefined> => {
      const value = await load(tag);
      return value === undefined ? undefined : Array.from(value as ArrayLike<number>);
    };
    return {
      cols: image.getWidth(),
      rows: image.getHeight(),
      bands: image.getSamplesPerPixel(),
      photometric: (await load("PhotometricInterpretation")) as number | undefined,
      keys: (image.getGeoKeys() ?? {}) as Record<string, unknown>,
      pixelScale: await numbers("ModelPixelScale"),
      tiePoints: await numbers("ModelTiepoint"),
      transformation: await numbers("ModelTransformation"),
      // The package's own reading cuts the last digit when a final zero byte is missing.
      noData: String((await load("GDAL_NODATA")) ?? "")
        .replaceAll("\0", "")
        .trim(),
      metadata: ((await image.getGDALMetadata(0)) ?? {}) as Record<string, unknown>,
      read: (window) =>
        guarded(name, async () => {
          // Lossy and rare packings are not for measured values, and their decoders are not proof against damage.
          const packing = Number((await load("Compression")) ?? 1);
          if (!Object.values(PACKINGS).flat().includes(packing)) throw new Error("it is packed in another way");
          return readWindow(image, packing, window);
        }),
    };
  });
}

/**
 * The package finds and unpacks the blocks a window touches, one at a time; their rows are then moved whole. Samples of
 * rare widths are left to the package, which reads every cell by itself.
 */
async function readWindow(
  image: GeoTIFFImage,
  packing: number,
  window: readonly [left: number, top: number, right: number, bottom: number],
): Promise<Float64Array> {
  const Samples = arrayOfSamples(image.getSampleFormat(0), image.getBitsPerSample(0));
  const apart = image.planarConfiguration === 2;
  const perCell = apart ? 1 : image.getSamplesPerPixel();
  const alike = apart || image.getBytesPerPixel() === perCell * image.getSampleByteSize(0);
  if (!Samples || !alike) return readCellByCell(image, window);

  const [left, top, right, bottom] = window;
  const cols = right - left;
  const values = new Float64Array(cols * (bottom - top));
  const [width, height] = [image.getTileWidth(), image.getTileHeight()];
  const {fileDirectory} = image;
  const predictor = fileDirectory.hasTag("Predictor") ? Number(await fileDirectory.loadValue("Predictor")) : 1;
  const decoder = await getDecoder(packing, {
    tileWidth: width,
    tileHeight: height,
    predictor: 1, // undone below, on whole rows
    bitsPerSample: fileDirectory.getValue("BitsPerSample") as number[],
    planarConfiguration: image.planarConfiguration,
    samplesPerPixel: image.getSamplesPerPixel(),
  });
  for (let y = Math.floor(top / height); y * height < bottom; y++) {
    for (let x = Math.floor(left / width); x * width < right; x++) {
      const {data} = await image.getTileOrStrip(x, y, 0, decoder);
      const first = Math.max(top, y * height);
      const last = Math.min(bottom, (y + 1) * height);
      const samples = new Samples(data as ArrayBuffer, 0, (last - y * height) * width * perCell);
      if (predictor !== 3 && image.littleEndian !== LITTLE_ENDIAN_HOST) swapBytes(samples);
      undoPredictor(samples, predictor, width * perCell, perCell);
      const from = Math.max(left, x * width);
      const to = Math.min(right, (x + 1) * width);
      for (let row = first; row < last; row++) {
        const start = (row - y * height) * width + from - x * width;
        const at = (row - top) * cols + from - left;
        if (perCell === 1) values.set(samples.subarray(start, start + to - from), at);
        else for (let i = 0; i < to - from; i++) values[at + i] = samples[(start + i) * perCell] as number;
      }
    }
  }
  return values;
}

async function readCellByCell(image: GeoTIFFImage, window: readonly number[]): Promise<Float64Array> {
  const [band] = (await image.readRasters({window: [...window], samples: [0]})) as unknown as ArrayLike<number>[];
  if (!band) throw new Error("it has no band");
  return Float64Array.from(band);
}

/**
 * An uncompressed 32-bit float TIFF of one band.
 *
 * @param place - Outer corner and size of the cells.
 * @param keys - The GeoTIFF keys as they stand in the file: `[key, place of the value, count, value]` each, by key.
 * @param doubles - The numbers that keys refer to.
 */
export function writeFloatTiff(
  values: Float64Array,
  cols: number,
  rows: number,
  place: {readonly west: number; readonly north: number; readonly cellWidth: number; readonly cellHeight: number},
  keys: readonly (readonly [key: number, location: number, count: number, value: number])[],
  doubles: readonly number[],
): Uint8Array {
  const tags = {
    height: rows,
    width: cols,
    ModelPixelScale: [place.cellWidth, place.cellHeight, 0],
    ModelTiepoint: [0, 0, 0, place.west, place.north, 0],
    GeoKeyDirectory: [1, 1, 0, keys.length, ...keys.flat()],
    ...(doubles.length > 0 ? {GeoDoubleParams: [...doubles]} : {}),
    // Without one of these the package puts the picture over the whole earth; the directory above is what is written.
    GeographicTypeGeoKey: 4326,
    GDAL_NODATA: "nan",
    BitsPerSample: [32],
    SampleFormat: [3],
    SamplesPerPixel: [1],
    StripByteCounts: [4 * values.length],
  };
  // The package writes what comes before the cells, big end first; the cells follow in one go.
  const head = new Uint8Array(writeArrayBuffer(Float32Array.of(0), tags)).subarray(0, -4);
  const bytes = new Uint8Array(head.length + 4 * values.length);
  bytes.set(head);
  const cells = new Float32Array(bytes.buffer, head.length, values.length);
  for (let i = 0; i < values.length; i++) {
    const value = values[i] as number;
    cells[i] = Number.isNaN(value) ? Number.NaN : value; // NaN comes with signs that machines differ in
  }
  if (LITTLE_ENDIAN_HOST) swapBytes(cells);
  return bytes;
}

let decodersInUse = false;

function useOwnDecoders(): void {
  if (decodersInUse) return;
  decodersInUse = true;
  useDecoder(PACKINGS.lzw, unpackLzw);
  useDecoder(PACKINGS.deflate, unpackDeflate);
  useDecoder(PACKINGS.packBits, unpackPackBits);
}

function useDecoder(codes: number[], unpack: (packed: Uint8Array, mostBytes: number) => Uint8Array): void {
  class Bounded extends BaseDecoder {
    override decodeBlock(packed: ArrayBufferLike): ArrayBufferLike {
      const {tileWidth, tileHeight, bitsPerSample} = this.parameters;
      const bits = typeof bitsPerSample === "number" ? [bitsPerSample] : Array.from(bitsPerSample);
      const mostBytes = Math.ceil((tileWidth * tileHeight * bits.reduce((sum, n) => sum + n, 0)) / 8);
      return unpack(new Uint8Array(packed), mostBytes).slice().buffer;
    }
  }
  addDecoder(codes, async () => Bounded);
}

async function guarded<T>(name: string, work: () => Promise<T>): Promise<T> {
  try {
    return await work();
  } catch (error) {
    if (isFieldError(error)) throw error;
    // What the package throws names its own inner workings, which help nobody with a damaged file.
    throw new FieldError(
      "tif/damaged",
      `${name} cannot be read as a GeoTIFF: it is damaged, cut short or packed in a way that is not supported.`,
      {
        place: {file: name},
        hint: "Export or download it again, uncompressed or with LZW or Deflate compression.",
      },
    );
  }
}

function tooLarge(name: string, blockBytes: number): FieldError {
  const size = formatNumber(blockBytes / 2 ** 20);
  return new FieldError("tif/too-large", `${name} is stored in pieces of ${size} MB; the limit is 256 MB.`, {
    place: {file: name},
    hint: "Cut it to the field, or save it in tiles.",
  });
}
