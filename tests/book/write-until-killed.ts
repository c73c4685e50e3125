import {writeSync} from "node:fs";
import {openBook} from "../../src/book/book.ts";
import {restoreSource} from "../../src/book/history.ts";
import {addSource} from "../../src/book/sources.ts";
import {nodeBookHost} from "../../src/cli/book-host.ts";
import {contentOf} from "./kill-loop.ts";

// Run as a process of its own: writes to a book without end, saying on stdout what is committed, until it is killed.

const [path = "", first = "1"] = process.argv.slice(2);
const host = await nodeBookHost({who: "writer"});
const book = openBook(host, path);
// A small cache makes pages go to the file long before a commit, as a big change would.
book.db.exec("PRAGMA cache_size = 20");
writeSync(1, "ready\n");
for (let n = Number(first); ; n++) {
  addSource(book, 1, "log.bin", contentOf(n));
  writeSync(1, `${n}\n`);
  if (n % 4 === 0) restoreSource(book, "Wren Patch", "log.bin", n - 1);
  if (n % 9 === 0) book.db.exec("VACUUM");
}
