import {existsSync, readFileSync} from "node:fs";
import fc from "fast-check";
import {fromArrayBuffer, writeArrayBuffer} from "geotiff";
import {describe, expect, it} from "vitest";
import {openTiff} from "../../src/formats/geotiff.ts";
import {readGeoTiff} from "../../src/formats/read-geotiff.ts";
import {arrayOfSamples, swapBytes, undoPredictor} from "../../src/formats/tiff-samples.ts";
import {writeGeoTiff} from "../../src/formats/write-geotiff.ts";
import {WGS84} from "../../src/geo/crs.ts";
import {buildTiff, floats, gridTags} from "./build-files.ts";

/** The first band as the geotiff package reads it, cell by cell. */
async function cellByCell(bytes: Uint8Array, window?: readonly number[]): Promise<Float64Array> {
  const image = await (await fromArrayBuffer(bytes.slice().buffer)).getImage();
  const [band] = await image.readRasters({samples: [0], ...(window && {window: [...window]})});
  return Float64Array.from(band as ArrayLike<number>);
}

describe("samples of a TIFF", () => {
  it("turn their bytes round as DataView reads them, in every width", () => {
    fc.assert(
      fc.property(fc.uint8Array({minLength: 8, maxLength: 80}), (list) => {
        const size = list.length - (list.length % 8);
        for (const of of [Uint8Array, Int16Array, Uint16Array, Int32Array, Float32Array, Float64Array]) {
          const bytes = list.slice(0, size);
          const view = new DataView(bytes.slice().buffer);
          const samples = new of(bytes.buffer);
          swapBytes(samples);
          samples.forEach((value, i) => {
            const at = i * of.BYTES_PER_ELEMENT;
            const get = `get${of.name.replace("Array", "")}` as "getInt16";
            const expected = view[get](at, false);
            // What NaN is made of does not matter.
            if (!Number.isNaN(expected)) expect(value).toBe(expected);
            else expect(value).toBeNaN();
          });
        }
      }),
    );
  });

  it("come back from differences: whole numbers, two bands side by side", () => {
    const samples = Uint16Array.of(10, 500, 1, 65535, 2, 1, /* next row */ 7, 7, 0, 0, 65535, 1);
    undoPredictor(samples, 2, 6, 2);
    expect([...samples]).toEqual([10, 500, 11, 499, 13, 500, 7, 7, 7, 7, 6, 8]);
  });

  it("come back from differences: floating numbers with their bytes apart", () => {
    const values = Float32Array.of(240.5, 240.75, -3, 1e-9);
    const bytes = new Uint8Array(values.buffer);
    // As a writer does: highest bytes first, then each byte less the one before it (two rows of two).
    const apart = [0, 1].flatMap((row) =>
      [3, 2, 1, 0].flatMap((b) => [0, 1].map((i) => bytes[(2 * row + i) * 4 + b] as number)),
    );
    const written = Uint8Array.from(apart, (byte, i) => byte - (i % 8 === 0 ? 0 : (apart[i - 1] as number)));
    const samples = new Float32Array(written.buffer);
    undoPredictor(samples, 3, 2, 1);
    expect(samples).toEqual(values);
  });

  it("in differences of another kind are refused", () => {
    expect(() => undoPredictor(Float32Array.of(1), 4, 1, 1)).toThrow();
    expect(() => undoPredictor(Float64Array.of(1), 2, 1, 1)).toThrow();
  });

  it("of rare widths have no array of their own", () => {
    expect(arrayOfSamples(3, 32)).toBe(Float32Array);
    expect(arrayOfSamples(3, 16)).toBeUndefined();
    expect(arrayOfSamples(1, 12)).toBeUndefined();
    expect(arrayOfSamples(4, 32)).toBeUndefined();
  });
});

describe("a block moved whole", () => {
  it.each([Uint8Array, Uint16Array, Uint32Array, Float32Array, Float64Array])(
    "%o, big end first, holds what the geotiff package reads from it",
    async (of) => {
      const values = new of(77).map((_, i) => (i * 37) % 251);
      const bytes = new Uint8Array(writeArrayBuffer(values, {height: 7, width: 11, GeographicTypeGeoKey: 4326}));
      const tiff = await openTiff(bytes, "made.tif");
      expect(await tiff.read([0, 0, 11, 7])).toEqual(await cellByCell(bytes));
      expect(await tiff.read([3, 2, 9, 5])).toEqual(await cellByCell(bytes, [3, 2, 9, 5]));
    },
  );

  it("is told from one that is cut short", async () => {
    const whole = buildTiff(gridTags(3, 2), floats(1, 2, 3, 4, 5, 6));
    await expect(readGeoTiff(whole.subarray(0, whole.length - 4), "dem.tif")).rejects.toThrow("cannot be read");
  });

  const shared = new URL("../../../shared/data/", import.meta.url);
  it
    .skipIf(!existsSync(shared))
    .each([
      "geotiff/LisbonElevation.tif",
      "geotiff/rio_RGBA.uint16.tif",
      "geotiff/rio_all-nodata.tif",
      "geotiff/rio_byte.tif",
      "geotiff/rio_float32.tif",
      "geotiff/rio_float_raster_with_nodata.tif",
      "geotiff/utm.tif",
      "dem/nrw_dom1_1m_400x400.tif",
      "cook_farm/grids/dem_10m.tif",
      "cook_farm/grids/ndre_mean_10m.tif",
    ])("%s holds what the geotiff package reads from it (skipped: no shared data)", async (name) => {
    const bytes = new Uint8Array(readFileSync(new URL(name, shared)));
    const tiff = await openTiff(bytes, name);
    const window = [1, 1, tiff.cols, tiff.rows - 1] as const;
    expect(await tiff.read(window)).toEqual(await cellByCell(bytes, window));
  });
});

describe("a written GeoTIFF", () => {
  it("is, byte for byte, what the geotiff package would write of all its cells", () => {
    const values = Float64Array.of(1.5, -2, Number.NaN, 1e-9, 300_000, -0.1);
    const place = {west: -93, north: 42, cellWidth: 0.001, cellHeight: 0.001, cols: 3, rows: 2};
    const bytes = writeGeoTiff({name: "six", crs: WGS84, ...place, values});
    const keys = [
      [1024, 0, 1, 2],
      [1025, 0, 1, 1],
      [2048, 0, 1, 4326],
    ];
    const whole = writeArrayBuffer(Float32Array.from(values), {
      height: 2,
      width: 3,
      ModelPixelScale: [0.001, 0.001, 0],
      ModelTiepoint: [0, 0, 0, -93, 42, 0],
      GeoKeyDirectory: [1, 1, 0, 3, ...keys.flat()],
      GeographicTypeGeoKey: 4326,
      GDAL_NODATA: "nan",
    } as never);
    expect(Buffer.compare(Buffer.from(bytes), Buffer.from(whole))).toBe(0);
  });

  it("writes every NaN as the same bytes", () => {
    const negative = new Float64Array(new Uint32Array([0, 0xfff80000]).buffer);
    const one = (values: Float64Array): Uint8Array =>
      writeGeoTiff({name: "one", crs: WGS84, west: 0, north: 1, cellWidth: 1, cellHeight: 1, cols: 1, rows: 1, values});
    expect(one(negative)).toEqual(one(Float64Array.of(Number.NaN)));
  });
});
