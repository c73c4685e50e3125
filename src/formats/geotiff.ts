import {fromArrayBuffer, type GeoTIFFImage, writeArrayBuffer} from "geotiff";
import {FieldError, isFieldError} from "../errors.ts";
import {formatNumber} from "../units/format.ts";

// The one door to the geotiff package. What the numbers in its tags mean is decided in read-geotiff.ts.

const MOST_BLOCK_BYTES = 2 ** 28;

/** The first image of a TIFF. @throws {FieldError} `tif/damaged`, `tif/too-large`. */
export async function openTiff(bytes: Uint8Array, name: string): Promise<GeoTIFFImage> {
  return guarded(name, async () => {
    // The package reads the whole buffer, so a piece of a larger one is copied out.
    const whole = bytes.byteLength === bytes.buffer.byteLength ? bytes : bytes.slice();
    const image = await (await fromArrayBuffer(whole.buffer as ArrayBuffer)).getImage();
    const blockBytes = image.getTileWidth() * image.getTileHeight() * image.getBytesPerPixel();
    if (!(image.getWidth() > 0 && image.getHeight() > 0 && blockBytes > 0)) throw new Error("it has no cells");
    if (blockBytes > MOST_BLOCK_BYTES) throw tooLarge(name, blockBytes);
    return image;
  });
}

/** Cells of the first band in a window of columns and rows, far ends not included. */
export async function readWindow(
  image: GeoTIFFImage,
  window: readonly [left: number, top: number, right: number, bottom: number],
  name: string,
): Promise<Float64Array> {
  return guarded(name, async () => {
    const [band] = (await image.readRasters({window: [...window], samples: [0]})) as unknown as ArrayLike<number>[];
    if (!band) throw new Error("it has no band");
    return Float64Array.from(band);
  });
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
  };
  return new Uint8Array(writeArrayBuffer(Float32Array.from(values), tags));
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
