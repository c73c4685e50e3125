import type {SqliteDatabase} from "../formats/geopackage/sqlite.ts";
import {encodeUtf8} from "../formats/text.ts";
import type {BookHost} from "./host.ts";
import {addRow} from "./rows.ts";

/** What was done, for the log. */
export interface Deed {
  /** As in "put in", "ran", "restored". */
  readonly what: string;
  /** The field, where it was about one. */
  readonly field?: string | undefined;
  readonly detail?: Readonly<Record<string, unknown>>;
}

export interface LogEntry extends Deed {
  readonly at: string;
  readonly who: string;
  readonly detail: Readonly<Record<string, unknown>>;
}

/** Adds an entry. Each carries the digest of itself and the chain before it, so that a changed or missing one shows. */
export function addToLog(db: SqliteDatabase, host: BookHost, deed: Deed): void {
  const [last] = db.all("SELECT chain FROM log ORDER BY id DESC LIMIT 1");
  const at = host.now();
  const detail = JSON.stringify(deed.detail ?? {});
  const cells = {at, who: host.who, what: deed.what, field: deed.field, detail};
  addRow(db, "log", {...cells, chain: chainOf(host, String(last?.chain ?? ""), cells)});
}

/** The log from the first entry on. */
export function readLog(db: SqliteDatabase): LogEntry[] {
  return db.all("SELECT at, who, what, field, detail FROM log ORDER BY id").map((row) => ({
    at: String(row.at),
    who: String(row.who),
    what: String(row.what),
    ...(row.field !== null && {field: String(row.field)}),
    detail: JSON.parse(String(row.detail)),
  }));
}

/** Number of the first entry whose chain does not hold, counted from 1; undefined when all do. */
export function brokenLink(db: SqliteDatabase, host: BookHost): number | undefined {
  let before = "";
  let number = 0;
  for (const row of db.each("SELECT at, who, what, field, detail, chain FROM log ORDER BY id")) {
    number += 1;
    const {at, who, what, field, detail, chain} = row;
    const cells = {
      at: String(at),
      who: String(who),
      what: String(what),
      field: field === null ? undefined : String(field),
      detail: String(detail),
    };
    if (chainOf(host, before, cells) !== chain) return number;
    before = String(chain);
  }
  return undefined;
}

interface Entry {
  readonly at: string;
  readonly who: string;
  readonly what: string;
  readonly field: string | undefined;
  readonly detail: string;
}

function chainOf(host: BookHost, before: string, {at, who, what, field, detail}: Entry): string {
  return host.sha256(encodeUtf8(JSON.stringify([before, at, who, what, field ?? null, detail])));
}
