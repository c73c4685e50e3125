import {isSqliteError} from "../formats/geopackage/sqlite.ts";
import {bytesOf, NAMED_DIGESTS} from "./blobs.ts";
import type {Book} from "./book.ts";
import {brokenLink} from "./log.ts";
import {geoPackageFaults} from "./verify-geopackage.ts";

/** One thing that was looked at. */
export interface Check {
  readonly what: string;
  /** How much was looked at, in words. */
  readonly looked: string;
  /** What is wrong, a sentence each; empty when all is well. */
  readonly faults: readonly string[];
}

/** Looks a whole book over: structure, digests, what belongs to nothing, the log, and the GeoPackage's own rules. */
export function verifyBook(book: Book): Check[] {
  return [
    check("structure of the database", () => structure(book)),
    check("bytes against their digests", () => digests(book)),
    check("what refers to what", () => orphans(book)),
    check("one version in force", () => inForce(book)),
    check("chain of the log", () => chain(book)),
    check("GeoPackage", () => geoPackageFaults(book.db)),
  ];
}

type Found = Omit<Check, "what">;

/** A damaged page may make any query fail; the other checks still run. */
function check(what: string, look: () => Found): Check {
  try {
    return {what, ...look()};
  } catch (error) {
    if (!isSqliteError(error)) throw error;
    return {what, looked: "could not be looked at", faults: [error.message.replace(/\s+/g, " ")]};
  }
}

function structure({db}: Book): Found {
  const said = db.all("PRAGMA integrity_check(20)").map((row) => String(row.integrity_check));
  const dangling = db.all("PRAGMA foreign_key_check");
  const pages = Number(db.all("PRAGMA page_count")[0]?.page_count);
  return {
    looked: `${pages} pages`,
    faults: [
      ...said.filter((line) => line !== "ok"),
      ...dangling
        .slice(0, 20)
        .map((row) => `row ${row.rowid} of ${row.table} refers to a missing row of ${row.parent}`),
    ],
  };
}

function digests(book: Book): Found {
  const blobs = book.db.all("SELECT sha256, size FROM blobs ORDER BY id");
  const faults: string[] = [];
  let total = 0;
  for (const {sha256, size} of blobs) {
    const bytes = bytesOf(book, String(sha256));
    total += bytes?.length ?? 0;
    const isSame = bytes && bytes.length === size && book.host.sha256(bytes) === sha256;
    if (!isSame) faults.push(`the bytes of ${usersOf(book, String(sha256))} are not those put in`);
  }
  return {looked: `${blobs.length} files, ${(total / 1e6).toFixed(1)} MB`, faults};
}

function usersOf({db}: Book, sha256: string): string {
  const names = db.all("SELECT name FROM sources WHERE sha256 = ?1 UNION SELECT name FROM results WHERE sha256 = ?1", [
    sha256,
  ]);
  return names.length > 0 ? names.map(({name}) => name).join(", ") : sha256;
}

function orphans({db}: Book): Found {
  const used = NAMED_DIGESTS;
  const count = (sql: string): number => Number(db.all(sql)[0]?.n);
  const missing = count(`SELECT count(*) AS n FROM (${used}) WHERE sha256 NOT IN (SELECT sha256 FROM blobs)`);
  const unused = count(`SELECT count(*) AS n FROM blobs WHERE sha256 NOT IN (${used})`);
  const loose = count("SELECT count(*) AS n FROM blob_parts WHERE sha256 NOT IN (SELECT sha256 FROM blobs)");
  return {
    looked: `${count(`SELECT count(*) AS n FROM (${used})`)} digests`,
    faults: [
      ...(missing > 0 ? [`${missing} files are named but not there`] : []),
      ...(unused > 0 ? [`${unused} files belong to nothing; "loamwright book prune" takes them out`] : []),
      ...(loose > 0 ? [`${loose} parts of files belong to none`] : []),
    ],
  };
}

function inForce({db}: Book): Found {
  const fields = db.all(
    `SELECT f.name, sum(r.current) AS current FROM fields f JOIN runs r ON r.field_id = f.id GROUP BY f.id`,
  );
  const sources = db.all(
    "SELECT name, count(*) AS n FROM sources WHERE current GROUP BY field_id, name HAVING count(*) > 1",
  );
  return {
    looked: `${fields.length} fields with results`,
    faults: [
      ...fields
        .filter(({current}) => current !== 1)
        .map(({name, current}) => `${name} has ${current} versions in force`),
      ...sources.map(({name, n}) => `${name} has ${n} versions in force`),
    ],
  };
}

function chain({db, host}: Book): Found {
  const entries = Number(db.all("SELECT count(*) AS n FROM log")[0]?.n);
  const broken = brokenLink(db, host);
  return {
    looked: `${entries} entries`,
    faults: broken === undefined ? [] : [`entry ${broken} or the one before it was changed or taken out`],
  };
}
