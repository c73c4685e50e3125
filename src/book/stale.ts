import type {SqliteDatabase} from "../formats/geopackage/sqlite.ts";
import type {Book} from "./book.ts";

/** A step of a run that no longer fits what it rests on. */
export interface StaleStep {
  readonly step: string;
  /** Why, in words: what has changed since. */
  readonly reasons: readonly string[];
}

/** Steps of a field's results in force that no longer fit the files and the job now in force. Empty without results. */
export function staleResults({db}: Book, fieldId: number): StaleStep[] {
  return db.transaction(() => {
    const run = db.all("SELECT id FROM runs WHERE field_id = ? AND current", [fieldId])[0]?.id;
    return run === undefined ? [] : staleSteps(db, fieldId, Number(run));
  });
}

/** The same for any version. */
export function staleSteps(db: SqliteDatabase, fieldId: number, runId: number): StaleStep[] {
  const sources = new Map(
    db
      .all("SELECT name, sha256 FROM sources WHERE field_id = ? AND current", [fieldId])
      .map(({name, sha256}) => [String(name), String(sha256)]),
  );
  const asked = new Map(
    db
      .all(
        `SELECT a.step, a.settings_sha256 FROM asked a
         WHERE a.job_sha256 = (SELECT sha256 FROM sources WHERE field_id = ? AND kind = 'job' AND current)`,
        [fieldId],
      )
      .map((row) => [String(row.step), String(row.settings_sha256)]),
  );
  const inputs = db.all("SELECT step, kind, name, digest FROM step_inputs WHERE run_id = ? ORDER BY id", [runId]);
  const stale = new Map<string, StaleStep>();
  for (const row of db.all("SELECT step, settings_sha256 FROM steps WHERE run_id = ? ORDER BY id", [runId])) {
    const step = String(row.step);
    const reasons: string[] = [];
    const wanted = asked.get(step);
    if (wanted === undefined) reasons.push("the job no longer asks for it");
    else if (wanted !== row.settings_sha256) reasons.push("its settings in the job have changed");
    for (const {kind, name, digest} of inputs.filter((input) => input.step === step)) {
      const changed = kind === "source" ? sources.get(String(name)) !== digest : stale.has(String(name));
      if (changed) reasons.push(kind === "source" ? `${name} has changed` : `it rests on ${name}`);
    }
    if (reasons.length > 0) stale.set(step, {step, reasons});
  }
  return [...stale.values()];
}
