import {execFileSync} from "node:child_process";
import {mkdtempSync, readFileSync, rmSync, writeFileSync} from "node:fs";
import {tmpdir} from "node:os";
import {join} from "node:path";
import {afterAll, describe, expect, it} from "vitest";
import {readGeoTiff} from "../../../src/formats/read-geotiff.ts";
import {writeGeoTiff} from "../../../src/formats/write-geotiff.ts";
import {crsFromEpsg, transformBetween, WGS84} from "../../../src/geo/crs.ts";
import {aspectDegrees} from "../../../src/grid/aspect.ts";
import {positionAbove} from "../../../src/grid/position.ts";
import type {Raster} from "../../../src/grid/raster.ts";
import {slopeDegrees} from "../../../src/grid/slope.ts";
import {gdalVersion, systemPython} from "../gdal.ts";
import {GROUNDS, type Ground} from "./grounds.ts";

// Terrain worked out by gdaldem on the same file, and the same file packed by GDAL in every way a reader must know.

console.log(gdalVersion());

const folder = mkdtempSync(join(tmpdir(), "loamwright-gdaldem-"));
afterAll(() => rmSync(folder, {recursive: true, force: true}));
const path = (name: string): string => join(folder, name);

async function rasterOf({name, cols, cell, heights}: Ground): Promise<Raster> {
  const crs = await crsFromEpsg(26916);
  const place = {west: 500_000, north: 4_500_000, cellWidth: cell, cellHeight: cell};
  return {name, crs, ...place, cols, rows: heights.length / cols, values: heights};
}
const read = async (file: string): Promise<Raster> =>
  (await readGeoTiff(new Uint8Array(readFileSync(path(file))), file)).value;

describe.each(GROUNDS)("$name", (ground) => {
  const {cols, cell} = ground;

  it("has the slopes, aspects and positions of gdaldem in every inner cell", async () => {
    writeFileSync(path("heights.tif"), writeGeoTiff(await rasterOf(ground)));
    const {values: heights} = await read("heights.tif"); // as Float32, like gdaldem's
    const compare = async (ours: Float64Array, most: number, around: number, ...words: string[]): Promise<void> => {
      const [mode, ...rest] = words as [string, ...string[]];
      execFileSync("gdaldem", [mode, path("heights.tif"), path("theirs.tif"), "-q", ...rest]);
      let cells = 0;
      (await read("theirs.tif")).values.forEach((value, i) => {
        if (Number.isNaN(value)) return;
        cells++;
        const apart = Math.abs((ours[i] as number) - value);
        expect(Math.min(apart, around - apart)).toBeLessThan(most);
      });
      expect(cells).toBeGreaterThan(2500);
    };
    // gdaldem works in Float32: on slopes below two degrees what it loses turns an aspect by more than a thousandth.
    await compare(slopeDegrees(heights, cols, cell), 1e-3, Infinity, "slope");
    await compare(
      slopeDegrees(heights, cols, cell, "zevenbergen-thorne"),
      1e-3,
      Infinity,
      "slope",
      "-alg",
      "ZevenbergenThorne",
    );
    await compare(positionAbove(heights, cols, cell, 1.5 * cell), 1e-4, Infinity, "TPI");
    execFileSync("gdaldem", ["aspect", path("heights.tif"), path("theirs.tif"), "-q"]);
    const steep = slopeDegrees(heights, cols, cell).map((degrees) => (degrees > 2 ? 1 : Number.NaN));
    const clear = aspectDegrees(heights, cols).map((degrees, i) => degrees * (steep[i] as number));
    let cells = 0;
    (await read("theirs.tif")).values.forEach((value, i) => {
      if (Number.isNaN(value + (clear[i] as number))) return;
      cells++;
      const apart = Math.abs((clear[i] as number) - value);
      expect(Math.min(apart, 360 - apart)).toBeLessThan(1e-3);
    });
    expect(cells).toBeGreaterThan(500);
  });
});

describe("one raster packed by GDAL", () => {
  const WAYS: Record<string, string[]> = {
    "in strips": [],
    "in strips of one row, big end first": ["BLOCKYSIZE=1", "ENDIANNESS=BIG"],
    "in tiles, deflated": ["TILED=YES", "BLOCKXSIZE=32", "BLOCKYSIZE=16", "COMPRESS=DEFLATE"],
    "in tiles, deflated, floats predicted": [
      "TILED=YES",
      "BLOCKXSIZE=32",
      "BLOCKYSIZE=32",
      "COMPRESS=DEFLATE",
      "PREDICTOR=3",
    ],
    "by LZW": ["COMPRESS=LZW"],
    "by LZW in tiles, predicted": ["TILED=YES", "BLOCKXSIZE=16", "BLOCKYSIZE=32", "COMPRESS=LZW", "PREDICTOR=2"],
    "by LZW, predicted, big end first": ["COMPRESS=LZW", "PREDICTOR=2", "ENDIANNESS=BIG"],
    "by PackBits": ["COMPRESS=PACKBITS"],
    "as BigTIFF": ["BIGTIFF=YES", "TILED=YES", "BLOCKXSIZE=64", "BLOCKYSIZE=64"],
  };
  const TYPES = ["Byte", "Int16", "UInt16", "Int32", "UInt32", "Float32", "Float64"];
  const ground = GROUNDS[1] as Ground;

  /** What GDAL itself reads from the first band. */
  function gdalCells(file: string): Float64Array {
    const code = [
      "import sys; from osgeo import gdal; import numpy",
      "d = gdal.Open(sys.argv[1])",
      "a = d.GetRasterBand(1).ReadAsArray().astype('<f8')",
      "open(sys.argv[2], 'wb').write(a.tobytes())",
    ].join("\n");
    execFileSync(systemPython(), ["-c", code, path(file), path("cells.bin")]);
    const bytes = readFileSync(path("cells.bin"));
    return new Float64Array(bytes.buffer.slice(bytes.byteOffset, bytes.byteOffset + bytes.byteLength));
  }

  it.each(Object.entries(WAYS))("%s is read cell by cell as GDAL reads it, whole and by window", async (_, options) => {
    writeFileSync(path("plain.tif"), writeGeoTiff(await rasterOf(ground)));
    for (const type of TYPES) {
      if (options.includes("PREDICTOR=3") && !type.startsWith("Float")) continue;
      if (options.includes("PREDICTOR=2") && type === "Float64") continue; // of 64 bits: refused
      const made = ["-q", "-ot", type, ...options.flatMap((option) => ["-co", option])];
      execFileSync("gdal_translate", [...made, path("plain.tif"), path("packed.tif")], {stdio: "pipe"});
      const whole = await read("packed.tif");
      const expected = gdalCells("packed.tif");
      expect(Buffer.compare(Buffer.from(whole.values.buffer), Buffer.from(expected.buffer))).toBe(0);
      // A window that begins and ends inside blocks, by longitude and latitude.
      const {forward} = transformBetween(whole.crs.definition, WGS84.definition);
      const [west, south] = forward(500_050, 4_499_900);
      const [east, north] = forward(500_100, 4_499_950);
      const within = {west, south, east, north};
      const bytes = new Uint8Array(readFileSync(path("packed.tif")));
      const {value: part} = await readGeoTiff(bytes, "packed.tif", {within});
      const left = Math.round((part.west - whole.west) / whole.cellWidth);
      const top = Math.round((whole.north - part.north) / whole.cellHeight);
      expect(part.cols * part.rows).toBeLessThan(whole.values.length / 2);
      part.values.forEach((value, i) => {
        const [row, col] = [Math.floor(i / part.cols) + top, (i % part.cols) + left];
        expect(value).toBe(whole.values[row * whole.cols + col]);
      });
    }
  });

  it.each(["PIXEL", "BAND"])("with two bands stored by %s gives the first", async (interleave) => {
    writeFileSync(path("plain.tif"), writeGeoTiff(await rasterOf(ground)));
    const made = ["-q", "-b", "1", "-b", "1", "-scale_2", "0", "100", "0", "1", "-co", `INTERLEAVE=${interleave}`];
    execFileSync("gdal_translate", [...made, path("plain.tif"), path("two.tif")], {stdio: "pipe"});
    expect((await read("two.tif")).values).toEqual((await read("plain.tif")).values);
  });
});
