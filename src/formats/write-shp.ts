import {write} from "@mapbox/shp-write";
import type {LonLat, LonLatRing} from "../geo/shapes.ts";

/** Shapes of one class: a point each, or the rings of a polygon each (outer rings clockwise, holes the other way). */
export type Shapes =
  | {readonly type: "POINT"; readonly shapes: readonly LonLat[]}
  | {readonly type: "POLYGON"; readonly shapes: readonly (readonly LonLatRing[])[]};

const HEADER_BYTES = 100;
const INDEX_BYTES = 8;
/** The package copies all points for every ring, so its time grows with the square of what it is given at once. */
const SHAPES_AT_ONCE = 128;
/** Offsets of the four doubles of the box in a header. */
const BOX = [36, 44, 52, 60] as const;

/**
 * The `.shp` and `.shx` of shapes, in order, records numbered from 1. The one door to shp-write, which is used for
 * records only: they are written in short runs and joined, with numbers, offsets, lengths and the box put right.
 *
 * @param shapes - At least one; rings closed, coordinates finite.
 */
export function writeShp({type, shapes}: Shapes): {shp: Uint8Array; shx: Uint8Array} {
  const runs: {shp: Uint8Array; shx: DataView}[] = [];
  for (let at = 0; at < shapes.length; at += SHAPES_AT_ONCE)
    runs.push(writeRun(type, shapes.slice(at, at + SHAPES_AT_ONCE)));
  const shp = new Uint8Array(runs.reduce((sum, run) => sum + run.shp.length - HEADER_BYTES, HEADER_BYTES));
  const shx = new Uint8Array(HEADER_BYTES + INDEX_BYTES * shapes.length);
  const shpView = new DataView(shp.buffer);
  const shxView = new DataView(shx.buffer);
  const box = [Infinity, Infinity, -Infinity, -Infinity];
  let shpAt = HEADER_BYTES;
  let number = 0;
  for (const run of runs) {
    shp.set(number === 0 ? run.shp : run.shp.subarray(HEADER_BYTES), number === 0 ? 0 : shpAt);
    const shift = shpAt - HEADER_BYTES;
    for (let at = HEADER_BYTES; at < run.shx.byteLength; at += INDEX_BYTES) {
      const offset = shift + run.shx.getInt32(at) * 2;
      shpView.setInt32(offset, number + 1);
      shxView.setInt32(HEADER_BYTES + INDEX_BYTES * number, offset / 2);
      shxView.setInt32(HEADER_BYTES + INDEX_BYTES * number + 4, run.shx.getInt32(at + 4));
      number++;
    }
    BOX.forEach((at, i) => {
      const value = new DataView(run.shp.buffer).getFloat64(at, true);
      box[i] = i < 2 ? Math.min(box[i] as number, value) : Math.max(box[i] as number, value);
    });
    shpAt += run.shp.length - HEADER_BYTES;
  }
  shx.set(shp.subarray(0, HEADER_BYTES));
  for (const view of [shpView, shxView]) {
    view.setInt32(24, view.byteLength / 2);
    BOX.forEach((at, i) => {
      view.setFloat64(at, box[i] as number, true);
    });
  }
  return {shp, shx};
}

function writeRun(type: Shapes["type"], shapes: Shapes["shapes"]): {shp: Uint8Array; shx: DataView} {
  let out: {shp: DataView; shx: DataView} | undefined;
  const noRows = shapes.map(() => ({}));
  write(noRows, type, shapes as object[], (error: unknown, data: {shp: DataView; shx: DataView}) => {
    if (error) throw error;
    out = data;
  });
  if (!out) throw new Error("shp-write did not answer at once");
  return {shp: new Uint8Array(out.shp.buffer), shx: out.shx};
}
