import {fromArrayBuffer, type GeoTIFFImage, writeArrayBuffer} from "geotiff";
import {FieldError, isFieldError} from "../errors.ts";

// The one door to the geotiff package. What the numbers in its tags mean is decided in read-geotiff.ts.

/** The first image of a TIFF. @throws {FieldError} `tif/damaged`. */
export async function openTiff(bytes: Uint8Array, name: string): Promise<GeoTIFFImage> {
  // A copy: the package reads the whole buffer, and ours may be a piece of a larger one.
  return guarded(name, async () => (await fromArrayBuffer(bytes.slice().buffer as ArrayBuffer)).getImage());
}

/** Cells of the first band in a window of columns and rows, far ends not included. */
export async function readWindow(
  image: GeoTIFFImage,
  window: readonly [left: number, top: number, right: number, bottom: number],
  name: string,
): Promise<Float64Array> {
  return guarded(name, async () => {
    const [band] = (await image.readRasters({window: [...window], samples: [0]})) as unknown as ArrayLike<number>[];
    if (!band) throw new Error("no band");
    return Float64Array.from(band);
  });
}

/** An uncompressed 32-bit float TIFF with the given tags. */
export function writeFloatTiff(values: Float64Array, tags: Record<string, unknown>): Uint8Array {
  return new Uint8Array(writeArrayBuffer(Float32Array.from(values), tags) as ArrayBuffer);
}

async function guarded<T>(name: string, work: () => Promise<T>): Promise<T> {
  try {
    return await work();
  } catch (error) {
    if (isFieldError(error)) throw error;
    throw new FieldError("tif/damaged", `${name} cannot be read as a GeoTIFF: ${(error as Error).message}.`, {
      place: {file: name},
      hint: "Export or download it again, uncompressed or with LZW or Deflate compression.",
    });
  }
}
