import type {GeoTIFFImage} from "geotiff";
import {FieldError, type Issue} from "../errors.ts";
import {type Crs, crsFromEpsg, transformBetween, WGS84} from "../geo/crs.ts";
import type {Box} from "../geo/shapes.ts";
import type {Raster} from "../grid/raster.ts";
import type {Read} from "./file-set.ts";
import {openTiff, readWindow} from "./geotiff.ts";
import {isTiff} from "./signatures.ts";

const MOST_CELLS = 100_000_000;
/** GeoTIFF 1.1 codes of vertical systems and units, as far as they say feet or metres. */
const VERTICAL_UNITS: Readonly<Record<number, string>> = {9001: "m", 9002: "ft", 9003: "us-ft"};
const VERTICAL_SYSTEMS: Readonly<Record<number, string>> = {5703: "m", 6360: "us-ft", 8228: "ft", 5773: "m", 3855: "m"};

/**
 * The first band of a GeoTIFF, or of the part of it that covers a box.
 *
 * Registration, no-data, scale and offset are settled here: cells are areas, no-data is NaN, row 0 is north.
 *
 * @param options.within - Longitude and latitude, degrees; only this window is decoded.
 * @param options.crs - The coordinate system where the user named one; it overrules the file.
 * @throws {FieldError} `tif/not-a-tiff`, `tif/damaged`, `tif/not-placed`, `tif/rotated`, `tif/no-crs`,
 *   `tif/too-large`, `tif/elsewhere` when the box lies outside the picture.
 */
export async function readGeoTiff(
  bytes: Uint8Array,
  name: string,
  options: {readonly within?: Box | undefined; readonly crs?: Crs | undefined} = {},
): Promise<Read<Raster>> {
  if (!isTiff(bytes)) {
    throw new FieldError("tif/not-a-tiff", `${name} is not a TIFF file.`, {
      place: {file: name},
      hint: "Give a GeoTIFF (.tif).",
    });
  }
  const image = await openTiff(bytes, name);
  const keys = (image.getGeoKeys() ?? {}) as Record<string, unknown>;
  const {west, north, cellWidth, cellHeight, southUp} = placement(image, name);
  const crs = options.crs ?? (await crsOf(keys, name));
  const whole = {west, north, cellWidth, cellHeight, cols: image.getWidth(), rows: image.getHeight()};
  const window = options.within
    ? windowOf(whole, crs, options.within, name)
    : ([0, 0, whole.cols, whole.rows] as const);
  const [left, top, right, bottom] = window;
  const cols = right - left;
  const rows = bottom - top;
  if (cols * rows > MOST_CELLS) {
    throw new FieldError("tif/too-large", `${name} has ${cols} × ${rows} cells here; the limit is ${MOST_CELLS}.`, {
      place: {file: name},
      hint: "Cut it to the field first.",
    });
  }
  const stored = southUp ? ([left, whole.rows - bottom, right, whole.rows - top] as const) : window;
  const values = await readWindow(image, stored, name);
  if (southUp) flipRows(values, cols);
  const issues: Issue[] = [];
  await settleValues(image, values, name, issues);
  if (image.getSamplesPerPixel() > 1) {
    issues.push({
      code: "tif/bands",
      severity: "note",
      message: `${name} has ${image.getSamplesPerPixel()} bands; the first was read.`,
      place: {file: name},
    });
  }
  const unit = VERTICAL_UNITS[Number(keys.VerticalUnitsGeoKey)] ?? VERTICAL_SYSTEMS[Number(keys.VerticalCSTypeGeoKey)];
  const raster: Raster = {
    name,
    crs,
    west: west + left * cellWidth,
    north: north - top * cellHeight,
    cellWidth,
    cellHeight,
    cols,
    rows,
    values,
    ...(unit && {unit}),
  };
  if (crs.remark) issues.push({...crs.remark, place: {file: name}});
  return {value: raster, issues};
}

interface Placement {
  readonly west: number;
  readonly north: number;
  readonly cellWidth: number;
  readonly cellHeight: number;
  readonly southUp: boolean;
}

function placement(image: GeoTIFFImage, name: string): Placement {
  const directory = image.fileDirectory;
  const transformation = directory.getValue("ModelTransformation") as ArrayLike<number> | undefined;
  const scale = directory.getValue("ModelPixelScale") as ArrayLike<number> | undefined;
  const tie = directory.getValue("ModelTiepoint") as ArrayLike<number> | undefined;
  const place = {file: name};
  let [x0, y0, dx, dy] = [0, 0, 0, 0];
  if (transformation) {
    const at = (i: number): number => transformation[i] as number;
    if (Math.abs(at(1)) > 1e-12 * Math.abs(at(0)) || Math.abs(at(4)) > 1e-12 * Math.abs(at(5))) {
      throw new FieldError("tif/rotated", `${name} is rotated against north.`, {
        place,
        hint: "Warp it to a north-up grid first.",
      });
    }
    [x0, y0, dx, dy] = [at(3), at(7), at(0), at(5)];
  } else if (scale && tie && tie.length >= 6) {
    [dx, dy] = [scale[0] as number, -(scale[1] as number)];
    [x0, y0] = [(tie[3] as number) - (tie[0] as number) * dx, (tie[4] as number) - (tie[1] as number) * dy];
  }
  if (!(dx > 0) || dy === 0 || !Number.isFinite(x0 + y0 + dx + dy)) {
    throw new FieldError("tif/not-placed", `${name} does not say where on the earth it lies.`, {
      place,
      hint: "Export it as a GeoTIFF with its coordinate system.",
    });
  }
  // Where coordinates name cell centres, the outer corner is half a cell out.
  const keys = (image.getGeoKeys() ?? {}) as Record<string, unknown>;
  const half = keys.GTRasterTypeGeoKey === 2 ? 0.5 : 0;
  const west = x0 - half * dx;
  const first = y0 - half * dy;
  const southUp = dy > 0;
  return {
    west,
    north: southUp ? first + dy * image.getHeight() : first,
    cellWidth: dx,
    cellHeight: Math.abs(dy),
    southUp,
  };
}

async function crsOf(keys: Record<string, unknown>, name: string): Promise<Crs> {
  const code = [keys.ProjectedCSTypeGeoKey, keys.GeographicTypeGeoKey].map(Number).find((n) => n > 0 && n !== 32767);
  const userDefined = Number(keys.ProjectedCSTypeGeoKey) === 32767 || Number(keys.GTModelTypeGeoKey) === 32767;
  if (code === undefined || userDefined) {
    throw new FieldError("tif/no-crs", `${name} does not name a coordinate system by its EPSG code.`, {
      place: {file: name},
      hint: 'Name it in the job, as in "crs": "EPSG:26916", or export the file again.',
    });
  }
  return crsFromEpsg(code);
}

/** Columns and rows that cover a box of longitudes and latitudes, with two cells to spare. */
function windowOf(
  whole: {west: number; north: number; cellWidth: number; cellHeight: number; cols: number; rows: number},
  crs: Crs,
  box: Box,
  name: string,
): [number, number, number, number] {
  const {inverse} = transformBetween(crs.definition, WGS84.definition);
  let [west, south, east, north] = [Infinity, Infinity, -Infinity, -Infinity];
  const steps = 8;
  for (let i = 0; i <= steps; i++) {
    for (let j = 0; j <= steps; j++) {
      const lon = box.west + ((box.east - box.west) * i) / steps;
      const lat = box.south + ((box.north - box.south) * j) / steps;
      const [x, y] = inverse(lon, lat);
      west = Math.min(west, x);
      east = Math.max(east, x);
      south = Math.min(south, y);
      north = Math.max(north, y);
    }
  }
  const left = Math.max(0, Math.floor((west - whole.west) / whole.cellWidth) - 2);
  const right = Math.min(whole.cols, Math.ceil((east - whole.west) / whole.cellWidth) + 2);
  const top = Math.max(0, Math.floor((whole.north - north) / whole.cellHeight) - 2);
  const bottom = Math.min(whole.rows, Math.ceil((whole.north - south) / whole.cellHeight) + 2);
  if (!(right > left && bottom > top)) {
    throw new FieldError("tif/elsewhere", `${name} does not cover the field.`, {
      place: {file: name},
      hint: "Check that it is of this field and that its coordinate system is named correctly.",
    });
  }
  return [left, top, right, bottom];
}

function flipRows(values: Float64Array, cols: number): void {
  const rows = values.length / cols;
  for (let row = 0; row < Math.floor(rows / 2); row++) {
    const a = values.subarray(row * cols, (row + 1) * cols);
    const b = values.subarray((rows - 1 - row) * cols, (rows - row) * cols);
    const kept = a.slice();
    a.set(b);
    b.set(kept);
  }
}

/** No-data to NaN, then scale and offset where the file has them. */
async function settleValues(image: GeoTIFFImage, values: Float64Array, name: string, issues: Issue[]): Promise<void> {
  const noData = image.getGDALNoData();
  const metadata = ((await image.getGDALMetadata(0)) ?? {}) as Record<string, unknown>;
  const scale = metadata.SCALE === undefined ? 1 : Number(metadata.SCALE);
  const offset = metadata.OFFSET === undefined ? 0 : Number(metadata.OFFSET);
  // A float32 raster stores -3.4e38 or -9999.9 a little off what its tag prints.
  const tolerance = noData === null ? 0 : Math.abs(noData) * 1e-6;
  for (let i = 0; i < values.length; i++) {
    const value = values[i] as number;
    if (!Number.isFinite(value) || (noData !== null && Math.abs(value - noData) <= tolerance)) values[i] = Number.NaN;
    else if (scale !== 1 || offset !== 0) values[i] = value * scale + offset;
  }
  if (scale !== 1 || offset !== 0) {
    issues.push({
      code: "tif/scaled",
      severity: "note",
      message: `${name} stores values scaled by ${scale} and offset by ${offset}; they were put right.`,
      place: {file: name},
    });
  }
}
