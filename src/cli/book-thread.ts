import {basename} from "node:path";
import {parentPort} from "node:worker_threads";
import {createBook, openBook} from "../book/book.ts";
import {bookShelf} from "../server/book-shelf.ts";
import {answerCalls} from "../server/calls.ts";
import {shelfHandlers} from "../server/shelf-thread.ts";
import {nodeBookHost} from "./book-host.ts";

// The thread a book is open in while the server runs.

if (!parentPort) throw new Error("this file is the first of a thread");
answerCalls(
  parentPort,
  shelfHandlers(async ({path}: {readonly path: string}) => {
    const host = await nodeBookHost();
    if (!host.exists(path)) createBook(host, path);
    return bookShelf(openBook(host, path), basename(path));
  }),
  true,
);
