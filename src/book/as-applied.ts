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
  /** The controller's file, which becomes a source of the field. */
  readonly file?: {readonly name: string; readonly bytes: Uint8Array};
  /** lb of product, by the controller. */
  readonly totalLb?: number;
  /** In the order logged. Rates in lb of product per acre; NaN where the controller gave none. */
  readonly points: readonly {readonly at: LonLat; readonly rateLbPerAcre: number; readonly targetLbPerAcre?: number}[];
}

/** Keeps a pass of a spreader; gives back its id. */
export function addApplied(book: Book, field: BookField, pass: AppliedPass): number {
  const {product, spreadOn, file, totalLb, points} = pass;
  return change(book, ["sources", "blobs", "blob_parts", "as_applied", "as_applied_points"], () => {
    const {db, host} = book;
    if (file) keepSource(book, field.id, file.name, "file", file.bytes);
    const id = addRow(db, "as_applied", {
      field_id: field.id,
      product,
      spread_on: spreadOn,
      source_sha256: file && host.sha256(file.bytes),
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
    const detail = {product, spreadOn, file: file?.name, points: points.length};
    return {result: id, deed: {what: "put in what was spread", field: field.name, detail}};
  });
}
