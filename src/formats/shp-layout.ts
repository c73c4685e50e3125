import {FieldError} from "../errors.ts";
import {formatNumber} from "../units/format.ts";

// The plain arithmetic of a shapefile's geometry: counts and lengths are compared with the bytes that are there before
// anything is allocated or parsed. Source: ESRI Shapefile Technical Description, July 1998.

export type ShapeClass = "point" | "multipoint" | "line" | "polygon";

export interface ShpLayout {
  readonly shapeClass: ShapeClass;
  /** Offset and content length in bytes of each record, in file order. */
  readonly records: readonly {readonly at: number; readonly contentBytes: number}[];
  /** Bytes of the file that the header claims; anything after is not part of it. */
  readonly length: number;
}

const HEADER_BYTES = 100;
const FILE_CODE = 9994;
const MOST_POINTS = 5_000_000;
/** Grouping rings compares them pairwise; no field's map unit comes near. */
const MOST_RINGS = 20_000;

/** Shape types with the class of shape and whether they carry heights. */
const TYPES: Readonly<Record<number, {shapeClass: ShapeClass; z: boolean}>> = {
  1: {shapeClass: "point", z: false},
  3: {shapeClass: "line", z: false},
  5: {shapeClass: "polygon", z: false},
  8: {shapeClass: "multipoint", z: false},
  11: {shapeClass: "point", z: true},
  13: {shapeClass: "line", z: true},
  15: {shapeClass: "polygon", z: true},
  18: {shapeClass: "multipoint", z: true},
  21: {shapeClass: "point", z: false},
  23: {shapeClass: "line", z: false},
  25: {shapeClass: "polygon", z: false},
  28: {shapeClass: "multipoint", z: false},
};

/**
 * Checks a `.shp` byte by byte count and lists its records.
 *
 * @throws {FieldError} `shp/not-a-shapefile`, `shp/damaged` naming the record, `shp/type`, `shp/too-large`.
 */
export function readShpLayout(shp: Uint8Array, file: string): ShpLayout {
  const view = new DataView(shp.buffer, shp.byteOffset, shp.byteLength);
  if (shp.length < HEADER_BYTES || view.getInt32(0) !== FILE_CODE) {
    throw new FieldError("shp/not-a-shapefile", `${file} is not a shapefile.`, {
      place: {file},
      hint: "Give the .shp together with its .shx, .dbf and .prj.",
    });
  }
  const typeCode = view.getInt32(32, true);
  const type = TYPES[typeCode];
  if (!type) throw unsupported(file, typeCode);
  const length = view.getInt32(24) * 2;
  if (length < HEADER_BYTES || length > shp.length) {
    throw damaged(file, `says it has ${formatNumber(length)} bytes but has ${formatNumber(shp.length)}`);
  }
  const records: {at: number; contentBytes: number}[] = [];
  let points = 0;
  for (let at = HEADER_BYTES; at < length; ) {
    const number = records.length + 1;
    if (at + 12 > length) throw damaged(file, `ends inside record ${number}`);
    const contentBytes = view.getInt32(at + 4) * 2;
    if (contentBytes < 4 || at + 8 + contentBytes > length) {
      throw damaged(file, `ends inside record ${number}, which says it has ${formatNumber(contentBytes)} bytes`);
    }
    const found = view.getInt32(at + 8, true);
    if (found !== 0 && found !== typeCode) {
      throw damaged(file, `has a shape of type ${found} in record ${number} among shapes of type ${typeCode}`);
    }
    if (found !== 0) points += countPoints(view, at + 8, contentBytes, type, `record ${number}`, file);
    if (points > MOST_POINTS) throw tooLarge(file, `more than ${formatNumber(MOST_POINTS)} corners`);
    records.push({at, contentBytes});
    at += 8 + contentBytes;
  }
  return {shapeClass: type.shapeClass, records, length};
}

/**
 * Compares a `.shx` with the records found by walking the `.shp`: where they disagree, other programs would attach
 * attributes to the wrong shapes.
 *
 * @throws {FieldError} `shp/index`.
 */
export function checkShx(shx: Uint8Array, layout: ShpLayout, file: string): void {
  const view = new DataView(shx.buffer, shx.byteOffset, shx.byteLength);
  const count = Math.floor((shx.length - HEADER_BYTES) / 8);
  const wrong = layout.records.findIndex(
    ({at, contentBytes}, i) =>
      i >= count ||
      view.getInt32(HEADER_BYTES + 8 * i) * 2 !== at ||
      view.getInt32(HEADER_BYTES + 8 * i + 4) * 2 !== contentBytes,
  );
  if (shx.length < HEADER_BYTES || view.getInt32(0) !== FILE_CODE || wrong >= 0 || count !== layout.records.length) {
    const where = wrong >= 0 && wrong < count ? ` at record ${wrong + 1}` : "";
    throw new FieldError(
      "shp/index",
      `${file} does not fit its .shp${where}: shapes and attributes could be mixed up.`,
      {
        place: {file},
        hint: "Export the layer again.",
      },
    );
  }
}

/** Points of one record, after checking that its counts fit its length. */
function countPoints(
  view: DataView,
  at: number,
  contentBytes: number,
  {shapeClass, z}: {shapeClass: ShapeClass; z: boolean},
  record: string,
  file: string,
): number {
  const tooShort = (what: string): FieldError =>
    damaged(file, `says ${record} has ${what} but only ${formatNumber(contentBytes)} bytes of it are there`);
  if (shapeClass === "point") {
    if (contentBytes < (z ? 28 : 20)) throw tooShort("a point");
    return 1;
  }
  if (contentBytes < (shapeClass === "multipoint" ? 40 : 44)) throw tooShort("a shape");
  const parts = shapeClass === "multipoint" ? 0 : view.getInt32(at + 36, true);
  const points = view.getInt32(at + (shapeClass === "multipoint" ? 36 : 40), true);
  const head = shapeClass === "multipoint" ? 40 : 44;
  const needed = head + 4 * parts + 16 * points + (z ? 16 + 8 * points : 0);
  if (parts < 0 || points < 0 || needed > contentBytes) {
    throw tooShort(`${formatNumber(points)} points in ${formatNumber(parts)} parts`);
  }
  if (shapeClass === "multipoint") return points;
  if (parts > MOST_RINGS) throw tooLarge(file, `a shape of ${formatNumber(parts)} parts in ${record}`);
  let last = 0;
  for (let p = 0; p < parts; p++) {
    const start = view.getInt32(at + 44 + 4 * p, true);
    if (start < last || (p === 0 && start !== 0) || start > points) {
      throw damaged(file, `has a broken list of parts in ${record}`);
    }
    last = start;
  }
  if (parts === 0 && points > 0) throw damaged(file, `has points without a part in ${record}`);
  return points;
}

function damaged(file: string, what: string): FieldError {
  return new FieldError("shp/damaged", `${file} ${what}: it is damaged or cut short.`, {
    place: {file},
    hint: "Copy or export the layer again.",
  });
}

function tooLarge(file: string, what: string): FieldError {
  return new FieldError("shp/too-large", `${file} has ${what}.`, {place: {file}, hint: "Cut the layer to the field."});
}

function unsupported(file: string, type: number): FieldError {
  const what =
    type === 31 ? "3-D surfaces (multipatch)" : type === 0 ? "no shapes (type null)" : `shapes of type ${type}`;
  return new FieldError("shp/type", `${file} holds ${what}, which are not supported.`, {
    place: {file},
    hint: "Export points, lines or polygons.",
  });
}
