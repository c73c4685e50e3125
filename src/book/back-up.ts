import type {Book} from "./book.ts";
import {withBook} from "./book.ts";
import {type Check, verifyBook} from "./verify.ts";

/**
 * A copy of a book as it stands, whole or not at all, without what was left empty in it. The copy is then opened and
 * looked over.
 *
 * @throws {FieldError} `book/exists` when there is a file of that name.
 */
export function backUp({db, host}: Book, target: string): Check[] {
  host.install(target, (temporary) => db.run("VACUUM INTO ?", [temporary]));
  return withBook(host, target, verifyBook);
}
