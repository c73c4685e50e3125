import type {LonLat} from "../geo/shapes.ts";
import {type Book, change} from "./book.ts";
import type {BookField} from "./fields.ts";
import {addRow} from "./rows.ts";

export interface Note {
  readonly text: string;
  readonly writtenAt: string;
  readonly writtenBy: string;
}

/** Writes a note down, with the place it is about where there is one. */
export function addNote(book: Book, field: BookField, text: string, at?: LonLat): void {
  change(book, ["notes"], () => {
    const {db, host} = book;
    const cells = {field_id: field.id, text, written_at: host.now(), written_by: host.who};
    addRow(db, "notes", cells, at && {type: "Point", coordinates: at});
    return {result: undefined, deed: {what: "noted", field: field.name, detail: {text}}};
  });
}

export function notesOf({db}: Book, field: BookField): Note[] {
  return db
    .all("SELECT text, written_at, written_by FROM notes WHERE field_id = ? ORDER BY id", [field.id])
    .map((row) => ({text: String(row.text), writtenAt: String(row.written_at), writtenBy: String(row.written_by)}));
}
