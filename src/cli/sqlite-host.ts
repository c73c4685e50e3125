import {mkdtempSync, readFileSync, rmSync, writeFileSync} from "node:fs";
import {tmpdir} from "node:os";
import {join} from "node:path";
import {loadSqlite, type SqliteHost} from "../formats/geopackage/sqlite.ts";

let lent: Promise<SqliteHost> | undefined;

/** What this process lends for databases: the engine, loaded once, and files in folders that go when the work is done. */
export function nodeSqlite(): Promise<SqliteHost> {
  lent ??= loadSqlite().then((engine) => ({engine, scratch: inNewFolder}));
  return lent;
}

const inNewFolder: SqliteHost["scratch"] = (bytes, work) => {
  const folder = mkdtempSync(join(tmpdir(), "loamwright-"));
  try {
    const path = join(folder, "scratch.gpkg");
    writeFileSync(path, bytes);
    const result = work(path);
    return {result, bytes: new Uint8Array(readFileSync(path))};
  } finally {
    rmSync(folder, {recursive: true, force: true});
  }
};
