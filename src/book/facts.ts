import {type Book, change} from "./book.ts";
import {addRow, changeRow} from "./rows.ts";

// Facts about the book itself, by name.

export function factOf({db}: Book, name: string): string | undefined {
  const [row] = db.all("SELECT value FROM book WHERE key = ?", [name]);
  return row && String(row.value);
}

export function noteFact(book: Book, name: string, value: string): void {
  change(book, ["book"], () => {
    const [row] = book.db.all("SELECT id FROM book WHERE key = ?", [name]);
    if (row) changeRow(book.db, "book", Number(row.id), {value});
    else addRow(book.db, "book", {key: name, value});
    return {result: undefined, deed: {what: "noted about the book", detail: {[name]: value}}};
  });
}
