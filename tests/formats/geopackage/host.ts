import {mkdtempSync, readFileSync, rmSync, writeFileSync} from "node:fs";
import {tmpdir} from "node:os";
import {join} from "node:path";
import {loadSqlite, type SqliteHost} from "../../../src/formats/geopackage/sqlite.ts";

/** What a Node host lends: the engine, and files in a folder of their own that goes when the work is done. */
export async function nodeHost(): Promise<SqliteHost> {
  const engine = await loadSqlite();
  return {
    engine,
    scratch: (bytes, work) => {
      const folder = mkdtempSync(join(tmpdir(), "loamwright-"));
      try {
        const path = join(folder, "scratch.gpkg");
        writeFileSync(path, bytes);
        const result = work(path);
        return {result, bytes: new Uint8Array(readFileSync(path))};
      } finally {
        rmSync(folder, {recursive: true, force: true});
      }
    },
  };
}
