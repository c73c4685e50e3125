import {FieldError} from "../errors.ts";
import type {SqliteDatabase} from "../formats/geopackage/sqlite.ts";
import {APPLIED_TABLES, FIELD_PREFIX} from "./applied-tables.ts";
import {FARM_TABLES} from "./farm-tables.ts";
import {addColumn, makeTable} from "./make-tables.ts";
import {RESULT_TABLES} from "./result-tables.ts";
import type {BookColumn, BookTable} from "./table.ts";
import {VIEW_TABLES} from "./view-tables.ts";

/** One step forward in the tables of a book. Once released it never changes. */
export interface Migration {
  readonly version: number;
  readonly title: string;
  readonly tables: readonly BookTable[];
  readonly columns?: readonly {readonly table: string; readonly column: BookColumn}[];
  /** Statements that go with it. */
  readonly sql?: string;
}

/** Rows of the log are only ever added, whoever opens the file. */
const LOG_IS_KEPT = `
CREATE TRIGGER log_is_not_changed BEFORE UPDATE ON log BEGIN SELECT RAISE(ABORT, 'rows of the log are only added'); END;
CREATE TRIGGER log_is_not_thinned BEFORE DELETE ON log BEGIN SELECT RAISE(ABORT, 'rows of the log are only added'); END;`;

/** Every version there has been, the first to the last. Forward only: there is no way back but a backup. */
export const MIGRATIONS: readonly Migration[] = [
  {
    version: 1,
    title: "fields, sources, runs and what came out of them",
    tables: [...FARM_TABLES, ...RESULT_TABLES],
    sql: LOG_IS_KEPT,
  },
  {
    version: 2,
    title: "what was spread, the crew's way and the cores it took",
    tables: APPLIED_TABLES,
    columns: [{table: "fields", column: FIELD_PREFIX}],
  },
  {version: 3, title: "what opens a field without running it, and the names fields had", tables: VIEW_TABLES},
];

export const BOOK_VERSION = MIGRATIONS.length;

/** Every table as the newest version has it. */
export const TABLES: readonly BookTable[] = MIGRATIONS.flatMap(({tables}) => tables).map((table) => ({
  ...table,
  columns: [
    ...table.columns,
    ...MIGRATIONS.flatMap(({columns = []}) => columns)
      .filter((added) => added.table === table.name)
      .map(({column}) => column),
  ],
}));

export function tableNamed(name: string): BookTable {
  const table = TABLES.find((one) => one.name === name);
  if (!table) throw new Error(`a book has no table ${name}`);
  return table;
}

/**
 * Brings the tables of a book to a version, each step whole or not at all.
 *
 * @param upTo - Default: the newest.
 * @returns The versions that were gone through.
 * @throws {FieldError} `book/newer` for a book that a later program has written.
 */
export function migrate(db: SqliteDatabase, now: string, upTo: number = BOOK_VERSION): number[] {
  const from = versionOf(db);
  if (from > BOOK_VERSION) {
    throw new FieldError(
      "book/newer",
      `The book is of version ${from}; this program knows books up to version ${BOOK_VERSION}.`,
      {hint: "Update Loamwright, or go back to a backup of the book."},
    );
  }
  const steps = MIGRATIONS.filter(({version}) => version > from && version <= upTo);
  for (const {version, title, tables, columns = [], sql} of steps) {
    db.transaction(() => {
      for (const table of tables) makeTable(db, table, now);
      for (const {table, column} of columns) addColumn(db, table, column);
      if (sql) db.exec(sql);
      db.run("INSERT INTO migrations (version, title, applied_at) VALUES (?, ?, ?)", [version, title, now]);
    });
  }
  return steps.map(({version}) => version);
}

/** 0 before the first. */
export function versionOf(db: SqliteDatabase): number {
  const has = db.all("SELECT 1 FROM sqlite_schema WHERE type = 'table' AND name = 'migrations'").length > 0;
  return has ? Number(db.all("SELECT max(version) AS version FROM migrations")[0]?.version) : 0;
}
