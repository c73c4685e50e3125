import {FieldError} from "../errors.ts";
import {type Book, change} from "./book.ts";
import {type BookField, findField} from "./fields.ts";
import {putInForce, TABLES_IN_FORCE} from "./save-run.ts";
import {type Source, sourcesOf} from "./sources.ts";
import {type StaleStep, staleSteps} from "./stale.ts";

/** One version of a field's results. */
export interface Version {
  readonly runId: number;
  readonly version: number;
  readonly current: boolean;
  readonly madeAt: string;
  readonly madeBy: string;
  readonly program: string;
  readonly seed: number;
  readonly digest: string;
  /** When its results were taken out; absent while they are there. */
  readonly prunedAt?: string;
  readonly files: number;
  readonly bytes: number;
  /** What no longer fits the files and the job in force. Empty for pruned versions. */
  readonly stale: readonly StaleStep[];
}

export interface Season {
  readonly year: number;
  readonly what: string;
  /** Empty where no crop is meant. */
  readonly crop: string;
}

export interface FieldHistory {
  readonly field: BookField;
  readonly seasons: readonly Season[];
  readonly versions: readonly Version[];
  readonly sources: readonly Source[];
}

/** All the book knows about how a field's records came about, the latest version last. */
export function fieldHistory(book: Book, field: BookField): FieldHistory {
  const {db} = book;
  return db.transaction(() => ({
    field,
    seasons: db
      .all("SELECT DISTINCT year, what, crop FROM seasons WHERE field_id = ? ORDER BY year, what, crop", [field.id])
      .map(({year, what, crop}) => ({year: Number(year), what: String(what), crop: String(crop)})),
    versions: versionsOf(book, field.id),
    sources: sourcesOf(book, field.id),
  }));
}

function versionsOf({db}: Book, fieldId: number): Version[] {
  return db
    .all(
      `SELECT r.*, count(f.id) AS files, ifnull(sum(f.size), 0) AS bytes
       FROM runs r LEFT JOIN results f ON f.run_id = r.id WHERE r.field_id = ? GROUP BY r.id ORDER BY r.version`,
      [fieldId],
    )
    .map((row) => ({
      runId: Number(row.id),
      version: Number(row.version),
      current: row.current === 1,
      madeAt: String(row.made_at),
      madeBy: String(row.made_by),
      program: String(row.program),
      seed: Number(row.seed),
      digest: String(row.digest),
      ...(row.pruned_at !== null && {prunedAt: String(row.pruned_at)}),
      files: Number(row.files),
      bytes: Number(row.bytes),
      stale: row.pruned_at === null ? staleSteps(db, fieldId, Number(row.id)) : [],
    }));
}

/**
 * Puts an earlier version of a field's results in force again. The later ones stay.
 *
 * @throws {FieldError} `book/no-such-version`, `book/pruned`.
 */
export function restoreVersion(book: Book, fieldName: string, version: number): Version {
  const field = findField(book, fieldName);
  return change(book, ["runs", ...TABLES_IN_FORCE], () => {
    const versions = versionsOf(book, field.id);
    const wanted = versions.find((one) => one.version === version);
    if (!wanted) {
      const known = versions.map((one) => one.version).join(", ");
      throw new FieldError("book/no-such-version", `${field.name} has no version ${version} of its results.`, {
        hint: known === "" ? "Run its job first." : `There are: ${known}.`,
      });
    }
    if (wanted.prunedAt) {
      throw new FieldError(
        "book/pruned",
        `Version ${version} of ${field.name} was pruned on ${wanted.prunedAt.slice(0, 10)}.`,
        {hint: "Export its sources and run the job again."},
      );
    }
    if (wanted.current) return {result: wanted, deed: undefined};
    putInForce(book, field.id, wanted.runId);
    const before = versions.find(({current}) => current)?.version;
    return {
      result: {...wanted, current: true},
      deed: {what: "restored", field: field.name, detail: {version, instead: before}},
    };
  });
}

/**
 * Puts an earlier version of a source in force again; results made from another show as stale.
 *
 * @throws {FieldError} `book/no-such-version`.
 */
export function restoreSource(book: Book, fieldName: string, source: string, version: number): Source {
  const field = findField(book, fieldName);
  return change(book, ["sources"], () => {
    const own = sourcesOf(book, field.id).filter(({name}) => name === source);
    const wanted = own.find((one) => one.version === version);
    if (!wanted) {
      const known = own.map((one) => one.version).join(", ");
      throw new FieldError("book/no-such-version", `${field.name} has no version ${version} of ${source}.`, {
        hint: known === "" ? 'See the files with "loamwright book list --versions".' : `There are: ${known}.`,
      });
    }
    if (wanted.current) return {result: wanted, deed: undefined};
    const others = wanted.kind === "job" ? "kind = 'job'" : "kind <> 'job'";
    book.db.run(`UPDATE sources SET current = 0 WHERE field_id = ? AND ${others} AND (kind = 'job' OR name = ?)`, [
      field.id,
      source,
    ]);
    book.db.run("UPDATE sources SET current = 1 WHERE field_id = ? AND name = ? AND version = ?", [
      field.id,
      source,
      version,
    ]);
    return {
      result: {...wanted, current: true},
      deed: {what: "restored", field: field.name, detail: {source, version}},
    };
  });
}
