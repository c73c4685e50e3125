import {type Book, change} from "./book.ts";
import {addRow, changeRow} from "./rows.ts";

/** How whoever works with the book likes to see it: plain data of the page's own. Undo does not touch it. */
export function preferencesOf({db}: Book): unknown {
  const [row] = db.all("SELECT value FROM book WHERE key = ?", [KEY]);
  return row && JSON.parse(String(row.value));
}

export function putPreferences(book: Book, preferences: object): void {
  change(book, ["book"], () => {
    const [row] = book.db.all("SELECT id FROM book WHERE key = ?", [KEY]);
    const value = JSON.stringify(preferences);
    if (row) changeRow(book.db, "book", Number(row.id), {value});
    else addRow(book.db, "book", {key: KEY, value});
    return {result: undefined, deed: {what: "set preferences", detail: {...preferences}}};
  });
}

const KEY = "preferences";
