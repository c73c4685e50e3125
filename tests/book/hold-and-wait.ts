import {writeSync} from "node:fs";
import {openBook} from "../../src/book/book.ts";
import {findField} from "../../src/book/fields.ts";
import {addNote} from "../../src/book/notes.ts";
import {nodeBookHost} from "../../src/cli/book-host.ts";

// Run as a process of its own. "hold": opens a book and keeps it. "note": opens it, writes a note and closes it, so often.

const [path = "", what = "hold", times = "1"] = process.argv.slice(2);
const host = await nodeBookHost({who: `process ${process.pid}`, waitMs: 60_000});
if (what === "hold") {
  openBook(host, path);
  writeSync(1, "holding\n");
  setInterval(() => {}, 1000);
} else {
  for (let i = 0; i < Number(times); i++) {
    const book = openBook(host, path);
    addNote(book, findField(book, "Wren Patch"), `note ${i} of ${process.pid}`);
    book.close();
  }
}
