import {quoted} from "../formats/geopackage/sqlite.ts";
import {dropUnused} from "./blobs.ts";
import {type Book, change} from "./book.ts";
import type {BookField} from "./fields.ts";
import {TABLES} from "./migrations.ts";

export interface Pruned {
  readonly versions: readonly {readonly field: string; readonly version: number}[];
  /** Files nothing names any more, and their bytes. */
  readonly files: number;
  readonly bytes: number;
}

/** Tables that hold what came out of a run, those that refer to others first. What a run rested on stays. */
const RESULTS = TABLES.filter(({columns}) => columns.some(({name}) => name === "run_id"))
  .map(({name}) => name)
  .filter((name) => name !== "steps" && name !== "step_inputs")
  .sort((a, b) => Number(refersTo(b)) - Number(refersTo(a)));

/**
 * Takes out the results of all but the latest versions. The version in force and every source stay, and so does the
 * record that a version was made, by whom and from what.
 *
 * @param keep - Versions to keep of each field, besides the one in force. Whole number from 0.
 */
export function prune(book: Book, fields: readonly BookField[], keep: number): Pruned {
  const {db, host} = book;
  const pruned = change(book, RESULTS, () => {
    const versions = fields.flatMap(({id, name}) =>
      db
        .all(
          `SELECT id, version FROM runs WHERE field_id = ?1 AND NOT current AND pruned_at IS NULL
           ORDER BY version DESC LIMIT -1 OFFSET ?2`,
          [id, keep],
        )
        .map((row) => ({runId: Number(row.id), field: name, version: Number(row.version)})),
    );
    for (const {runId} of versions) {
      for (const table of RESULTS) db.run(`DELETE FROM ${quoted(table)} WHERE run_id = ?`, [runId]);
      db.run("UPDATE runs SET pruned_at = ? WHERE id = ?", [host.now(), runId]);
    }
    const shown = versions.map(({field, version}) => ({field, version}));
    const result = {versions: shown, ...dropUnused(book)};
    return {result, deed: shown.length + result.files > 0 ? {what: "pruned", detail: {...result, keep}} : undefined};
  });
  if (pruned.versions.length + pruned.files > 0) db.exec("VACUUM");
  return pruned;
}

/** Whether rows of a table refer to rows of another table of results. */
function refersTo(name: string): boolean {
  const refers = TABLES.find((table) => table.name === name)?.columns.flatMap((column) => column.refers ?? []) ?? [];
  return refers.some((table) => table === "recommendations" || table === "prescriptions");
}
