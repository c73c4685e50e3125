import {execFileSync, spawnSync} from "node:child_process";
import {mkdtempSync, readFileSync, rmSync, writeFileSync} from "node:fs";
import {tmpdir} from "node:os";
import {join} from "node:path";
import {readGeoTiff} from "../../src/formats/read-geotiff.ts";
import {writeGeoTiff} from "../../src/formats/write-geotiff.ts";
import {slopeDegrees} from "../../src/grid/slope.ts";
import {shortest} from "./stopwatch.ts";

const RUNS = 5;

/** Slope of one GeoTIFF by this program and by gdaldem, file to file, and how far the two results lie apart. */
export async function timeSlope(bytes: Uint8Array): Promise<string> {
  // It prints its version and then complains of missing arguments; only the words count.
  const version = /GDAL [\d.]+/.exec(spawnSync("gdaldem", ["--version"], {encoding: "utf8"}).stdout ?? "")?.[0];
  if (version === undefined) return "gdaldem not installed";
  const folder = mkdtempSync(join(tmpdir(), "bench-"));
  try {
    const [from, ours, theirs] = ["elevation.tif", "ours.tif", "theirs.tif"].map((name) => join(folder, name)) as [
      string,
      string,
      string,
    ];
    writeFileSync(from, bytes);
    const own = await shortest(RUNS, async () => {
      const {value: raster} = await readGeoTiff(new Uint8Array(readFileSync(from)), from);
      const values = slopeDegrees(raster.values, raster.cols, raster.cellWidth);
      writeFileSync(ours, writeGeoTiff({...raster, values}));
      return {...raster, values};
    });
    const other = await shortest(RUNS, () => {
      execFileSync("gdaldem", ["slope", "-q", from, theirs]);
    });
    const {value: expected} = await readGeoTiff(new Uint8Array(readFileSync(theirs)), theirs);
    let apart = 0;
    expected.values.forEach((slope, i) => {
      if (!Number.isNaN(slope)) apart = Math.max(apart, Math.abs(slope - (own.value.values[i] as number)));
    });
    const {cols, rows} = own.value;
    return [
      `Slope of ${cols} × ${rows} cells, file to file, shortest of ${RUNS}: here ${inMs(own.seconds)};`,
      `gdaldem (${version}), its start included, ${inMs(other.seconds)}; ratio ${(own.seconds / other.seconds).toFixed(2)}.`,
      `Largest difference where both have a slope: ${apart.toExponential(1)} degrees.`,
    ].join("\n");
  } finally {
    rmSync(folder, {recursive: true});
  }
}

const inMs = (seconds: number): string => `${(seconds * 1000).toFixed(0)} ms`;
