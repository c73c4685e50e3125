import {bytesOf, dropIfUnused, keepBytes} from "./blobs.ts";
import {type Book, change} from "./book.ts";
import {addRow, touch} from "./rows.ts";

/** What the bench shows of a run. It can be made again from the job and its files, and is no record of anything. */
export interface RunView {
  /** Version of the program and of the form the rest is in. */
  readonly madeBy: string;
  /** JSON. */
  readonly card: string;
  /** Layers, shapes and workings. */
  readonly packed: Uint8Array;
}

/**
 * Keeps what is shown of a field's results in force in place of what was kept of them or of earlier ones: one for each
 * field, so that a book does not grow with every run. Of results that are no longer in force nothing is kept.
 */
export function keepView(book: Book, runId: number, view: RunView): void {
  change(book, TABLES, () => {
    const [run] = book.db.all("SELECT field_id FROM runs WHERE id = ? AND current AND pruned_at IS NULL", [runId]);
    if (run) {
      replaceView(book, Number(run.field_id), runId, view);
      touch(book.db, TABLES, book.host.now());
    }
    return {result: undefined, deed: undefined};
  });
}

const TABLES = ["run_views", "blobs", "blob_parts"];

function replaceView(book: Book, fieldId: number, runId: number, {madeBy, card, packed}: RunView): void {
  const {db} = book;
  const ofField = "run_id IN (SELECT id FROM runs WHERE field_id = ?)";
  const before = db.all(`SELECT sha256 FROM run_views WHERE ${ofField}`, [fieldId]);
  db.run(`DELETE FROM run_views WHERE ${ofField}`, [fieldId]);
  addRow(db, "run_views", {run_id: runId, made_by: madeBy, card, sha256: keepBytes(book, packed)});
  for (const {sha256} of before) dropIfUnused(book, String(sha256));
}

/** The figures of a run as they were kept by this version of the program. */
export function cardOfRun({db}: Book, runId: number, madeBy: string): string | undefined {
  const [row] = db.all("SELECT card FROM run_views WHERE run_id = ? AND made_by = ?", [runId, madeBy]);
  return row && String(row.card);
}

/** Layers, shapes and workings, likewise. */
export function packedOfRun(book: Book, runId: number, madeBy: string): Uint8Array | undefined {
  const [row] = book.db.all("SELECT sha256 FROM run_views WHERE run_id = ? AND made_by = ?", [runId, madeBy]);
  return row && bytesOf(book, String(row.sha256));
}

/** What a file holds as it was once looked at under that name; JSON. */
export function lookOf({db}: Book, sha256: string, name: string, madeBy: string): string | undefined {
  const [row] = db.all("SELECT card FROM looks WHERE sha256 = ? AND name = ? AND made_by = ?", [sha256, name, madeBy]);
  return row && String(row.card);
}

/** Keeps what was seen in a file that is in the book; of others nothing is kept. */
export function keepLook(book: Book, sha256: string, name: string, madeBy: string, card: string): void {
  const {db, host} = book;
  change(book, ["looks"], () => {
    if (db.all("SELECT 1 FROM blobs WHERE sha256 = ?", [sha256]).length > 0) {
      db.run("DELETE FROM looks WHERE sha256 = ? AND name = ?", [sha256, name]);
      addRow(db, "looks", {sha256, name, made_by: madeBy, card});
      touch(db, ["looks"], host.now());
    }
    return {result: undefined, deed: undefined};
  });
}
