import type {Strategy} from "../sampling/plan.ts";
import {type Book, change} from "./book.ts";

/** Files that were handed over, and to whom. */
export interface HandOver {
  /** Who got them, where it was said. */
  readonly to?: string;
  /** Of the rates among them. */
  readonly strategies: readonly Strategy[];
  /** What those rates are of, by analysis; empty where an older log does not say. */
  readonly products: readonly string[];
  /** Names of those a machine could spread by; where there are any, the caution was read. */
  readonly rates: readonly string[];
  /** As their bytes were. */
  readonly files: readonly {readonly name: string; readonly sha256: string}[];
}

/** As the log has it. */
export interface LoggedHandOver extends HandOver {
  readonly at: string;
  readonly who: string;
  /** Whether the results in force hold the rates, or without any the other files, byte for byte. */
  readonly inForce: boolean;
}

const WHAT = "handed over";
const MOST_LOOKED_BACK = 50;

/** Adds to the log, and to nothing else, that files of a run were handed over. */
export function addHandOver(book: Book, fieldId: number, runId: number, given: HandOver): void {
  const {db} = book;
  change(book, [], () => {
    const [run] = db.all(
      "SELECT r.version, f.name FROM runs r JOIN fields f ON f.id = r.field_id WHERE r.id = ? AND f.id = ?",
      [runId, fieldId],
    );
    if (!run) throw new Error(`field ${fieldId} has no run ${runId}`);
    const {to, strategies, products, rates, files} = given;
    const caution = rates.length > 0 ? "read" : undefined;
    const detail = {run: runId, version: Number(run.version), to, caution, strategies, products, rates, files};
    return {result: undefined, deed: {what: WHAT, field: String(run.name), detail}};
  });
}

/** What was handed over of a field, the latest first, and whether it is what the results in force still say. */
export function handOversOf(book: Book, fieldId: number): LoggedHandOver[] {
  return handOversByField(book, fieldId).get(fieldId) ?? [];
}

/** The same of all fields of which anything was, or of the one asked for. */
export function handOversByField({db}: Book, fieldId?: number): Map<number, LoggedHandOver[]> {
  const asked = fieldId === undefined ? [] : [fieldId];
  // Names of fields may be those of two farms; the run is of one field.
  const rows = db.all(
    `SELECT r.field_id, l.at, l.who, l.detail FROM log l JOIN runs r ON r.id = json_extract(l.detail, '$.run')
     WHERE l.what = ? ${fieldId === undefined ? "" : "AND r.field_id = ?"} ORDER BY l.id DESC`,
    [WHAT, ...asked],
  );
  const inForce = new Map<number, ReadonlySet<string>>();
  const filesInForce = (id: number): ReadonlySet<string> => {
    const known = inForce.get(id) ?? new Set(filesOfRun(id));
    inForce.set(id, known);
    return known;
  };
  const filesOfRun = (id: number): string[] =>
    db
      .all(
        "SELECT f.name, f.sha256 FROM results f JOIN runs r ON r.id = f.run_id WHERE r.field_id = ? AND r.current AND r.pruned_at IS NULL",
        [id],
      )
      .map(({name, sha256}) => `${sha256} ${name}`);
  const found = new Map<number, LoggedHandOver[]>();
  for (const {field_id, at, who, detail} of rows) {
    const id = Number(field_id);
    const own = found.get(id) ?? [];
    found.set(id, own);
    if (own.length === MOST_LOOKED_BACK) continue;
    const {to, strategies, products = [], rates, files} = JSON.parse(String(detail)) as Partial<HandOver> & HandOver;
    const counted = rates.length > 0 ? files.filter(({name}) => rates.includes(name)) : files;
    own.push({
      at: String(at),
      who: String(who),
      ...(to !== undefined && {to}),
      strategies,
      products,
      rates,
      files,
      inForce: counted.every(({name, sha256}) => filesInForce(id).has(`${sha256} ${name}`)),
    });
  }
  return found;
}
