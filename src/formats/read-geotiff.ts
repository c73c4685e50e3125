import {FieldError, type Issue} from "../errors.ts";
import {type Crs, transformBetween, WGS84} from "../geo/crs.ts";
import type {Box} from "../geo/shapes.ts";
import type {Raster} from "../grid/raster.ts";
import {formatNumber} from "../units/format.ts";
import {lengthFactor} from "../units/parse.ts";
import type {Read} from "./file-set.ts";
import {crsOfKeys, verticalUnit} from "./geo-keys.ts";
import {openTiff, type Tiff} from "./geotiff.ts";
import {isTiff} from "./signatures.ts";

const MOST_CELLS = 100_000_000;
/** What programs write where there is no data, when a file does not say it: no height, yield or index is one of these. */
const SENTINELS = [-9999, -32768, -32767, -99999, -999999];
const HIGHEST_SENTINEL = Math.max(...SENTINELS);
/** Beyond this, floats are no measurement but the mark of an empty cell (-3.4e38). */
const LARGEST = 1e30;
/** Photometric interpretations of one band of values; the others are pictures. */
const BLACK_IS_ZERO = 1;
const WHITE_IS_ZERO = 0;

/**
 * The first band of a GeoTIFF, or of the part of it that covers a box.
 *
 * Registration, no-data, scale and offset are settled here: cells are areas, no-data is NaN, row 0 is north.
 *
 * @param options.within - Longitude and latitude, degrees; only this window is decoded.
 * @param options.crs - The coordinate system where the user named one; it overrules the file.
 * @throws {FieldError} `tif/not-a-tiff`, `tif/damaged`, `tif/picture`, `tif/not-placed`, `tif/rotated`, `tif/no-crs`,
 *   `tif/too-large`, `tif/elsewhere` when the box lies outside it.
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
  const tiff = await openTiff(bytes, name);
  refusePicture(tiff, name);
  const {west, north, cellWidth, cellHeight, southUp} = placement(tiff, name);
  const crs = options.crs ?? (await crsOfKeys(tiff.keys, name));
  const whole = {west, north, cellWidth, cellHeight, cols: tiff.cols, rows: tiff.rows};
  const window = options.within
    ? windowOf(whole, crs, options.within, name)
    : ([0, 0, whole.cols, whole.rows] as const);
  const [left, top, right, bottom] = window;
  const cols = right - left;
  const rows = bottom - top;
  if (cols * rows > MOST_CELLS) {
    throw new FieldError(
      "tif/too-large",
      `${name} has ${formatNumber(cols)} × ${formatNumber(rows)} cells here; the limit is ${formatNumber(MOST_CELLS)}.`,
      {
        place: {file: name},
        hint: "Cut it to the field first.",
      },
    );
  }
  const stored = southUp ? ([left, whole.rows - bottom, right, whole.rows - top] as const) : window;
  const values = await tiff.read(stored);
  if (southUp) flipRows(values, cols);
  const issues: Issue[] = [];
  if (crs.remark) issues.push({...crs.remark, place: {file: name}});
  settleValues(values, tiff, name, issues);
  if (tiff.bands > 1) {
    issues.push({
      code: "tif/bands",
      severity: "note",
      message: `${name} has ${tiff.bands} bands; the first was read.`,
      place: {file: name},
    });
  }
  const unit = verticalUnit(tiff.keys) ?? lengthUnit(tiff.metadata.UNITTYPE);
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
  return {value: raster, issues};
}

/** Colours are not measurements, and a palette's numbers are only names of colours. */
function refusePicture({photometric}: Tiff, name: string): void {
  if (photometric === undefined || photometric === BLACK_IS_ZERO || photometric === WHITE_IS_ZERO) return;
  throw new FieldError("tif/picture", `${name} is a colour picture, not a grid of measured values.`, {
    place: {file: name},
    hint: "Export the values behind it as a single-band GeoTIFF.",
  });
}

interface Placement {
  readonly west: number;
  readonly north: number;
  readonly cellWidth: number;
  readonly cellHeight: number;
  readonly southUp: boolean;
}

function placement(tiff: Tiff, name: string): Placement {
  const {transformation, pixelScale: scale, tiePoints: tie} = tiff;
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
  const half = tiff.keys.GTRasterTypeGeoKey === 2 ? 0.5 : 0;
  const west = x0 - half * dx;
  const first = y0 - half * dy;
  const southUp = dy > 0;
  return {
    west,
    north: southUp ? first + dy * tiff.rows : first,
    cellWidth: dx,
    cellHeight: Math.abs(dy),
    southUp,
  };
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
function settleValues(values: Float64Array, {noData, metadata}: Tiff, name: string, issues: Issue[]): void {
  const scale = metadata.SCALE === undefined ? 1 : Number(metadata.SCALE);
  const offset = metadata.OFFSET === undefined ? 0 : Number(metadata.OFFSET);
  const assumed = noData === "" ? sentinelIn(values) : undefined;
  const mark = noData === "" ? (assumed ?? Number.NaN) : Number(noData);
  // A float32 raster stores -3.4e38 or -9999.9 a little off what its tag prints.
  const tolerance = Math.abs(mark) * 1e-6;
  for (let i = 0; i < values.length; i++) {
    const value = values[i] as number;
    if (!(Math.abs(value) < LARGEST) || Math.abs(value - mark) <= tolerance) values[i] = Number.NaN;
    else if (scale !== 1 || offset !== 0) values[i] = value * scale + offset;
  }
  const remark = (code: string, severity: Issue["severity"], message: string): void => {
    issues.push({code, severity, message, place: {file: name}});
  };
  if (assumed !== undefined) {
    remark("tif/no-data-assumed", "warning", `${name} does not name its no-data value; ${assumed} was taken for it.`);
  }
  if (scale !== 1 || offset !== 0) {
    remark(
      "tif/scaled",
      "note",
      `${name} stores values scaled by ${scale} and offset by ${offset}; they were put right.`,
    );
  }
}

function sentinelIn(values: Float64Array): number | undefined {
  for (let i = 0; i < values.length; i++) {
    const value = values[i] as number;
    if (value <= HIGHEST_SENTINEL && SENTINELS.includes(value)) return value;
  }
  return undefined;
}

/** "metre", "US survey foot" and their like in the spelling used inside. */
function lengthUnit(said: unknown): string | undefined {
  const text = String(said ?? "")
    .trim()
    .toLowerCase()
    .replace(/[_ ]/g, "");
  if (/^(ussurveyfoot|ussurveyfeet|us-ft|ftus|footus|usfoot|usft|sft)$/.test(text)) return "us-ft";
  const factor = lengthFactor(text);
  return factor === 1 ? "m" : factor === lengthFactor("ft") ? "ft" : undefined;
}
