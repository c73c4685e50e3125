import {FieldError, isFieldError} from "../errors.ts";
import {APPLICATION_ID, CORE_TABLES, SPATIAL_REFERENCE_SYSTEMS, USER_VERSION} from "../formats/geopackage/schema.ts";
import {isSqliteError, type SqliteDatabase} from "../formats/geopackage/sqlite.ts";
import type {BookHost} from "./host.ts";
import {addToLog, type Deed} from "./log.ts";
import {BOOK_VERSION, MIGRATIONS, migrate, versionOf} from "./migrations.ts";
import {addRow, touch} from "./rows.ts";

/**
 * An open book: a farm's records in one GeoPackage. While it is open no other process has it. Close it.
 *
 * Every function of this room takes it first and gives back plain data.
 */
export interface Book {
  readonly path: string;
  readonly db: SqliteDatabase;
  readonly host: BookHost;
  readonly close: () => void;
}

/**
 * Makes an empty book, whole or not at all.
 *
 * @param options.version - Version of its tables. Default: the newest; earlier ones are for trying migrations.
 * @throws {FieldError} `book/exists`.
 */
export function createBook(host: BookHost, path: string, options: {readonly version?: number} = {}): void {
  const {version = BOOK_VERSION} = options;
  host.install(path, (temporary) => {
    const db = host.engine.open(temporary);
    try {
      db.exec(`PRAGMA application_id = ${APPLICATION_ID}; PRAGMA user_version = ${USER_VERSION};`);
      const now = host.now();
      db.transaction(() => {
        db.exec(CORE_TABLES);
        db.runAll("INSERT INTO gpkg_spatial_ref_sys VALUES (?, ?, ?, ?, ?, ?)", SPATIAL_REFERENCE_SYSTEMS);
      });
      migrate(db, now, version);
      db.transaction(() => {
        addRow(db, "book", {key: "kind", value: "loamwright book"});
        addToLog(db, host, {what: "began the book", detail: {version}});
      });
    } finally {
      db.close();
    }
  });
}

/**
 * Opens a book for this process alone and brings its tables to the newest version.
 *
 * Changes are written with a rollback journal and synced to disk before they count (`synchronous = FULL`): what was
 * committed is there after the process is killed, and what was not has left no trace.
 *
 * @throws {FieldError} `book/not-found`, `book/not-one`, `book/damaged`, `book/newer`, `book/in-use` and those of
 *   `BookHost.hold`.
 */
export function openBook(host: BookHost, path: string): Book {
  if (!host.exists(path)) {
    throw new FieldError("book/not-found", `There is no book ${path}.`, {
      hint: `Check the path, or make one with "loamwright book create ${path}".`,
    });
  }
  const letGo = host.hold(path);
  let db: SqliteDatabase | undefined;
  try {
    const opened = host.engine.open(path);
    db = opened;
    leaveWriteAhead(opened);
    opened.exec("PRAGMA trusted_schema = OFF; PRAGMA foreign_keys = ON; PRAGMA synchronous = FULL;");
    checkKind(opened, path);
    const before = versionOf(opened);
    const gone = migrate(opened, host.now());
    if (gone.length > 0) {
      const detail = {from: before, to: gone.at(-1), brought: MIGRATIONS.slice(before).map(({title}) => title)};
      opened.transaction(() => addToLog(opened, host, {what: "brought the tables up to date", detail}));
    }
    const close = (): void => {
      try {
        opened.close();
      } finally {
        letGo();
      }
    };
    return {path, db: opened, host, close};
  } catch (error) {
    try {
      db?.close();
    } finally {
      letGo();
    }
    throw explained(error, path);
  }
}

/** Opens a book, works with it and closes it, also after an error. */
export function withBook<T>(host: BookHost, path: string, work: (book: Book) => T): T {
  const book = openBook(host, path);
  try {
    return work(book);
  } catch (error) {
    throw explained(error, path);
  } finally {
    book.close();
  }
}

/**
 * One change: all of it and its entry in the log, synced to disk, or nothing.
 *
 * @param tables - Those it may touch, for their day of last change.
 * @throws {FieldError} `book/cannot-write`, `book/damaged`, and what the work refuses.
 */
export function change<T>(book: Book, tables: readonly string[], work: () => {result: T; deed: Deed | undefined}): T {
  const {db, host, path} = book;
  try {
    return db.transaction(() => {
      const {result, deed} = work();
      if (deed) {
        addToLog(db, host, deed);
        touch(db, [...tables, "log"], host.now());
      }
      return result;
    });
  } catch (error) {
    throw explained(error, path);
  }
}

/**
 * A GIS may leave a file in write-ahead mode, which the engine can follow only while it has the file for itself. The
 * host has made sure that nobody has it open so.
 */
function leaveWriteAhead(db: SqliteDatabase): void {
  db.all("PRAGMA locking_mode = EXCLUSIVE");
  db.all("PRAGMA journal_mode = DELETE");
  db.all("PRAGMA locking_mode = NORMAL");
  db.all("SELECT count(*) AS n FROM sqlite_schema");
}

function checkKind(db: SqliteDatabase, path: string): void {
  const id = Number(db.all("PRAGMA application_id")[0]?.application_id);
  const isBook =
    id === APPLICATION_ID &&
    versionOf(db) > 0 &&
    db.all("SELECT 1 FROM book WHERE key = 'kind' AND value = 'loamwright book'").length > 0;
  if (!isBook) {
    throw new FieldError(
      "book/not-one",
      `${path} is no book${id === APPLICATION_ID ? " but another GeoPackage" : ""}.`,
      {
        hint: "Check that the right file was named.",
      },
    );
  }
}

/** What the engine says about the file, in words a user can act on. */
function explained(error: unknown, path: string): unknown {
  if (isFieldError(error) || !isSqliteError(error)) return error;
  const said = error.message.replace(/\s+/g, " ");
  if (/file is not a database/.test(said)) {
    return new FieldError("book/not-one", `${path} is no book: it is no database.`, {
      hint: "Check that the right file was named.",
    });
  }
  if (/locked|busy|unable to open/i.test(said)) {
    return new FieldError("book/in-use", `${path} cannot be opened: another program is using it (${said}).`, {
      hint: "Close the book in that program and try again.",
    });
  }
  if (/malformed|corrupt/i.test(said)) {
    return new FieldError("book/damaged", `${path} is damaged: ${said}.`, {
      hint: 'Go back to a backup; "loamwright book verify" tells what is still good.',
    });
  }
  if (/full|disk I\/O|readonly/i.test(said)) {
    return new FieldError("book/cannot-write", `Nothing was changed in ${path}: ${said}.`, {
      hint: "Check that the file may be written to and that the disk is not full.",
    });
  }
  return error;
}
