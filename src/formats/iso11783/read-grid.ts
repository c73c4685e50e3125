import type {Issue} from "../../errors.ts";
import {WGS84} from "../../geo/crs.ts";
import type {Raster} from "../../grid/raster.ts";
import {formatNumber} from "../../units/format.ts";
import type {XmlElement} from "../xml.ts";
import {decimalOf, textOf, wholeOf, zoneCodeOf} from "./attributes.ts";
import {dataItem} from "./data-dictionary.ts";
import type {GridLayer, ReadGrid, ReadZone, ZoneValue} from "./task-data.ts";
import type {TaskFolder} from "./task-files.ts";

const MOST_CELLS = 4_000_000;

interface Shape extends Omit<Raster, "values" | "unit"> {}

/**
 * A grid with its cells decoded and turned north-up.
 *
 * Left out, with a remark, when its file is missing or does not hold exactly what its columns, rows and values need:
 * a grid read with the wrong layout puts every rate in the wrong place.
 */
export function readGrid(
  element: XmlElement,
  zones: readonly ReadZone[],
  outOfField: number | undefined,
  get: TaskFolder["get"],
  taskName: string,
  issues: Issue[],
): ReadGrid | undefined {
  const refuse = (message: string): undefined => {
    issues.push({
      code: "iso11783/bad-grid",
      severity: "error",
      message,
      hint: "Export the task data again and copy the whole folder.",
    });
  };
  const shape = readShape(element, taskName);
  const file = `${textOf(element, "G") ?? ""}.BIN`;
  const type = {1: 1, 2: 2}[element.attributes.I?.trim() ?? ""] as 1 | 2 | undefined;
  if (!shape || !type) return refuse(`The grid of ${taskName} has no usable position, size or type.`);
  const {cols, rows} = shape;
  if (cols * rows > MOST_CELLS) {
    return refuse(
      `The grid of ${taskName} has ${formatNumber(cols * rows)} cells; the limit is ${formatNumber(MOST_CELLS)}.`,
    );
  }
  const bytes = get(file);
  if (!bytes) return refuse(`The grid of ${taskName} is in ${file}, which is not there.`);
  const code = zoneCodeOf(element, "J");
  const model = zones.find((zone) => zone.code === code);
  if (type === 2 && !model) {
    return refuse(
      `The grid of ${taskName} takes its values from zone ${element.attributes.J ?? "(none)"}, which is not in the task.`,
    );
  }
  const values = type === 2 ? (model?.values ?? []) : valuesOf(zones);
  const perCell = type === 1 ? 1 : 4 * values.length;
  if (bytes.length !== cols * rows * perCell) {
    const what = type === 1 ? "" : ` x ${values.length} value${values.length === 1 ? "" : "s"}`;
    return refuse(
      `${file} has ${bytes.length} bytes; ${cols} columns x ${rows} rows${what} need ${cols * rows * perCell}.`,
    );
  }
  if (type === 2)
    return {type, cols, rows, layers: values.map((value, i) => ratedLayer(shape, bytes, value, i, values.length))};
  const codes = northUp(bytes, cols, rows);
  reportUnknownCodes(codes, zones, outOfField, taskName, issues);
  return {type, cols, rows, codes, layers: values.map((value) => codedLayer(shape, codes, value, zones, outOfField))};
}

function readShape(element: XmlElement, name: string): Shape | undefined {
  const south = decimalOf(element, "A");
  const west = decimalOf(element, "B");
  const cellHeight = decimalOf(element, "C");
  const cellWidth = decimalOf(element, "D");
  const cols = wholeOf(element, "E", 1, 2 ** 32);
  const rows = wholeOf(element, "F", 1, 2 ** 32);
  if (south === undefined || west === undefined || !cellHeight || !cellWidth || !cols || !rows) return undefined;
  const sound = cellHeight > 0 && cellWidth > 0 && Math.abs(south) <= 90 && Math.abs(west) <= 180;
  if (!sound) return undefined;
  return {name, crs: WGS84, west, north: south + rows * cellHeight, cellWidth, cellHeight, cols, rows};
}

/** Type 1 takes its values from the zones its cells name: every kind of value that any of them has. */
function valuesOf(zones: readonly ReadZone[]): ZoneValue[] {
  const found: ZoneValue[] = [];
  for (const value of zones.flatMap((zone) => zone.values)) {
    if (!found.some((other) => sameKind(other, value))) found.push(value);
  }
  return found;
}

function sameKind(a: ZoneValue, b: ZoneValue): boolean {
  return a.ddi === b.ddi && a.product === b.product && a.element === b.element;
}

function ratedLayer(shape: Shape, bytes: Uint8Array, value: ZoneValue, index: number, count: number): GridLayer {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  const {cols, rows} = shape;
  const perUnit = dataItem(value.ddi).perUnit;
  const values = new Float64Array(cols * rows);
  for (let row = 0; row < rows; row++) {
    const from = (rows - 1 - row) * cols;
    for (let col = 0; col < cols; col++) {
      values[row * cols + col] = view.getInt32(((from + col) * count + index) * 4, true) / perUnit;
    }
  }
  return layer(shape, value, values);
}

function codedLayer(
  shape: Shape,
  codes: Uint8Array,
  value: ZoneValue,
  zones: readonly ReadZone[],
  outOfField: number | undefined,
): GridLayer {
  const byCode = new Float64Array(256).fill(Number.NaN);
  // Backwards, so that of two zones with one code the first counts.
  for (const zone of [...zones].reverse()) {
    const same = zone.values.find((other) => sameKind(other, value));
    if (same) byCode[zone.code] = same.value;
  }
  if (outOfField !== undefined) byCode[outOfField] = Number.NaN;
  return layer(
    shape,
    value,
    Float64Array.from(codes, (code) => byCode[code] as number),
  );
}

function layer(shape: Shape, {ddi, unit, product, presentation}: ZoneValue, values: Float64Array): GridLayer {
  return {
    ddi,
    ...(product === undefined ? {} : {product}),
    ...(presentation === undefined ? {} : {presentation}),
    raster: {...shape, values, ...(unit === "" ? {} : {unit})},
  };
}

function northUp(bytes: Uint8Array, cols: number, rows: number): Uint8Array {
  const out = new Uint8Array(bytes.length);
  for (let row = 0; row < rows; row++) {
    const from = (rows - 1 - row) * cols;
    out.set(bytes.subarray(from, from + cols), row * cols);
  }
  return out;
}

function reportUnknownCodes(
  codes: Uint8Array,
  zones: readonly ReadZone[],
  outOfField: number | undefined,
  taskName: string,
  issues: Issue[],
): void {
  const known = new Set([...zones.map((zone) => zone.code), ...(outOfField === undefined ? [] : [outOfField])]);
  const unknown = [...new Set(codes)].filter((code) => !known.has(code)).sort((a, b) => a - b);
  if (unknown.length === 0) return;
  const cells = codes.reduce((sum, code) => (known.has(code) ? sum : sum + 1), 0);
  issues.push({
    code: "iso11783/missing-zone",
    severity: "error",
    message: `${formatNumber(cells)} cells of the grid of ${taskName} name zones the task does not have: ${unknown.slice(0, 5).join(", ")}${unknown.length > 5 ? " …" : ""}.`,
    hint: "Export the task again; those cells have no rate.",
  });
}
