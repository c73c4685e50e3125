import {FieldError, type Issue, isFieldError} from "../../errors.ts";
import type {Read} from "../file-set.ts";
import {isSqliteError, type SqliteDatabase, type SqliteHost} from "./sqlite.ts";

const MAGIC = "SQLite format 3\0";
/** "GPKG", and "GP10" and "GP11" of the first editions. */
const APPLICATION_IDS = [0x47504b47, 0x47503130, 0x47503131];
/** Header bytes that say how changes are written: 1 with a rollback journal, 2 with a write-ahead log. */
const WRITE_VERSION = 18;
const READ_VERSION = 19;

/**
 * Reads from a private copy of somebody's GeoPackage: read-only, nothing in the file trusted, structure checked first.
 *
 * A file left in write-ahead mode is read as it stands, since the engine cannot follow its log; changes still in a log
 * beside it are not seen, and a remark says so.
 *
 * @throws {FieldError} `geopackage/not-one`, `geopackage/damaged`.
 */
export function withOpenCopy<T>(
  host: SqliteHost,
  bytes: Uint8Array,
  file: string,
  read: (db: SqliteDatabase) => T,
): Read<T> {
  checkHeader(bytes, file);
  const copy = bytes.slice();
  const issues: Issue[] = [];
  if (copy[WRITE_VERSION] === 2 || copy[READ_VERSION] === 2) {
    copy[WRITE_VERSION] = 1;
    copy[READ_VERSION] = 1;
    issues.push({
      code: "geopackage/write-ahead",
      severity: "note",
      message: `${file} was in use by a program that keeps changes in a separate log; changes not yet in the file were not seen.`,
      place: {file},
      hint: "Close the file in the other program and read it again.",
    });
  }
  const {result} = host.scratch(copy, (path) => {
    try {
      const db = host.engine.open(path, {readOnly: true});
      try {
        db.exec("PRAGMA trusted_schema = OFF; PRAGMA cell_size_check = ON; PRAGMA foreign_keys = OFF;");
        const [check] = db.all("PRAGMA quick_check(1)");
        if (check?.quick_check !== "ok") throw damaged(file, String(check?.quick_check));
        return read(db);
      } finally {
        db.close();
      }
    } catch (error) {
      if (isFieldError(error) || !isSqliteError(error)) throw error;
      throw damaged(file, error.message);
    }
  });
  return {value: result, issues};
}

function checkHeader(bytes: Uint8Array, file: string): void {
  const isDatabase = bytes.length >= 100 && [...MAGIC].every((letter, i) => bytes[i] === letter.charCodeAt(0));
  const id = isDatabase ? new DataView(bytes.buffer, bytes.byteOffset).getUint32(68) : 0;
  if (APPLICATION_IDS.includes(id)) return;
  const why = isDatabase ? `application id 0x${id.toString(16).padStart(8, "0")}` : "no database";
  throw new FieldError("geopackage/not-one", `${file} is not a GeoPackage (${why}).`, {
    place: {file},
    hint: "Check that the right file was named, and export it as GeoPackage again if it was.",
  });
}

function damaged(file: string, reason: string): FieldError {
  return new FieldError("geopackage/damaged", `${file} cannot be read: ${reason.replace(/\s+/g, " ").slice(0, 160)}.`, {
    place: {file},
    hint: "Copy the file again, or export the layer anew.",
  });
}
