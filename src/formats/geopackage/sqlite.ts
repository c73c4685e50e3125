/** What a cell of a database may hold; `bigint` beyond 2^53. */
export type SqlValue = number | bigint | string | Uint8Array | null;

export type SqlRow = Readonly<Record<string, SqlValue>>;

/** An open database. Close it: its memory is not collected. */
export interface SqliteDatabase {
  /** One or more statements without results. */
  readonly exec: (sql: string) => void;
  readonly run: (sql: string, values?: readonly SqlValue[]) => void;
  readonly all: (sql: string, values?: readonly SqlValue[]) => SqlRow[];
  /** Rows one by one, for tables too long to hold at once. */
  readonly each: (sql: string, values?: readonly SqlValue[]) => Iterable<SqlRow>;
  /** One statement for many rows. */
  readonly runAll: (sql: string, rows: Iterable<readonly SqlValue[]>) => void;
  /** All of the work or none of it. */
  readonly transaction: <T>(work: () => T) => T;
  readonly close: () => void;
}

/** SQLite, to open files with. */
export interface SqliteEngine {
  readonly open: (path: string, options?: {readonly readOnly?: boolean}) => SqliteDatabase;
}

/**
 * What a host lends for databases that come and go as bytes. The engine works on files and cannot hand out a database
 * it keeps in memory, and the core knows no files.
 */
export interface SqliteHost {
  readonly engine: SqliteEngine;
  /**
   * Runs `work` on the path of a new file that holds `bytes` and that nobody else sees. Gives back what `work` returned
   * and what the file holds then; the file is gone afterwards, also after an error.
   */
  readonly scratch: <T>(
    bytes: Uint8Array,
    work: (path: string) => T,
  ) => {readonly result: T; readonly bytes: Uint8Array};
}

/** Loads the engine, about a megabyte, when it is first needed. */
export async function loadSqlite(): Promise<SqliteEngine> {
  const {default: sqlite} = await import("node-sqlite3-wasm");
  return {open: (path, {readOnly = false} = {}) => wrap(new sqlite.Database(path, {readOnly}))};
}

/** True for what the engine itself throws: a damaged file, a broken constraint, a lock. */
export function isSqliteError(error: unknown): error is Error {
  return error instanceof Error && error.name === "SQLite3Error";
}

/** A name in SQL, whatever it holds. */
export function quoted(name: string): string {
  return `"${name.replaceAll('"', '""')}"`;
}

/** The library's database, as far as it is used. */
interface Library {
  exec(sql: string): void;
  run(sql: string, values: SqlValue[]): unknown;
  all(sql: string, values: SqlValue[]): unknown[];
  prepare(sql: string): {
    run(values: SqlValue[]): unknown;
    iterate(values: SqlValue[]): Iterable<unknown>;
    finalize(): void;
  };
  close(): void;
}

function wrap(db: Library): SqliteDatabase {
  return {
    exec: (sql) => db.exec(sql),
    run: (sql, values = []) => {
      db.run(sql, values.map(bound));
    },
    all: (sql, values = []) => db.all(sql, values.map(bound)) as SqlRow[],
    *each(sql, values = []) {
      const statement = db.prepare(sql);
      try {
        yield* statement.iterate(values.map(bound)) as Iterable<SqlRow>;
      } finally {
        statement.finalize();
      }
    },
    runAll: (sql, rows) => {
      const statement = db.prepare(sql);
      try {
        for (const values of rows) statement.run(values.map(bound));
      } finally {
        statement.finalize();
      }
    },
    transaction: (work) => {
      db.exec("BEGIN");
      try {
        const result = work();
        db.exec("COMMIT");
        return result;
      } catch (error) {
        rollBack(db);
        throw error;
      }
    },
    close: () => db.close(),
  };
}

/** After some errors, a full disk among them, the engine has rolled back by itself and knows of no transaction. */
function rollBack(db: Library): void {
  try {
    db.exec("ROLLBACK");
  } catch (error) {
    if (!isSqliteError(error) || !/no transaction is active/.test(error.message)) throw error;
  }
}

/** The library hands text over as far as the first zero character only; what follows it must not be lost. */
function bound(value: SqlValue): SqlValue {
  return typeof value === "string" ? value.replaceAll("\0", "\ufffd") : value;
}
