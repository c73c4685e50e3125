import type {LonLat} from "../geo/shapes.ts";
import {type Book, change} from "./book.ts";
import type {BookField} from "./fields.ts";
import {addRow, addRows} from "./rows.ts";
import {keepSource} from "./sources.ts";

/** What a spreader's controller says it put on. */
export interface AppliedPass {
  readonly product: string;
  /** As in "2026-04-20". */
  readonly spreadOn?: string;
  /** The controller's files, which become sources of the field; the row names the first. */
  readonly files?: readonly {readonly name: string; readonly bytes: Uint8Array}[];
  /** lb of product, by the controller. */
  readonly totalLb?: number;
  /** In the order logged. Rates in lb of product per acre; NaN where the controller gave none. */
  readonly points: readonly {readonly at: LonLat; readonly rateLbPerAcre: number; readonly targetLbPerAcre?: number}[];
}

/** A pass that is in the book. */
export interface KeptPass {
  readonly product: string;
  readonly spreadOn?: string;
  /** Digest of the first of the controller's files. */
  readonly sourceSha256?: string;
  /** lb of product, by the controller. */
  readonly totalLb?: number;
  readonly points: number;
  readonly addedAt: string;
}

/** What was spread on a field, in the order in which it was put in. */
export function appliedOf({db}: Book, field: BookField): KeptPass[] {
  return db
    .all(
      `SELECT a.*, (SELECT count(*) FROM as_applied_points p WHERE p.as_applied_id = a.id) AS points
       FROM as_applied a WHERE a.field_id = ? ORDER BY a.id`,
      [field.id],
    )
    .map((row) => ({
      product: String(row.product),
      ...(row.spread_on !== null && {spreadOn: String(row.spread_on)}),
      ...(row.source_sha256 !== null && {sourceSha256: String(row.source_sha256)}),
      ...(row.total_lb !== null && {totalLb: Number(row.total_lb)}),
      points: Number(row.points),
      addedAt: String(row.added_at),
    }));
}

/** Keeps a pass of a spreader; gives back its id. */
export function addApplied(book: Book, field: BookField, pass: AppliedPass): number {
  const {product, spreadOn, files = [], totalLb, points} = pass;
  return change(book, ["sources", "blobs", "blob_parts", "as_applied", "as_applied_points"], () => {
    const {db, host} = book;
    for (const {name, bytes} of files) keepSource(book, field.id, name, "file", bytes);
    const [first] = files;
    const id = addRow(db, "as_applied", {
      field_id: field.id,
      product,
      spread_on: spreadOn,
      source_sha256: first && host.sha256(first.bytes),
      total_lb: totalLb,
      added_at: host.now(),
      added_by: host.who,
    });
    addRows(
      db,
      "as_applied_points",
      points.map(({at, rateLbPerAcre, targetLbPerAcre}, i) => ({
        cells: {as_applied_id: id, position: i + 1, rate_lb_ac: rateLbPerAcre, target_lb_ac: targetLbPerAcre},
        geometry: {type: "Point", coordinates: at},
      })),
    );
    const detail = {product, spreadOn, files: files.map(({name}) => name), points: points.length};
    return {result: id, deed: {what: "put in what was spread", field: field.name, detail}};
  });
}
