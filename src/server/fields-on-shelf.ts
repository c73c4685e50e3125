import type {Book} from "../book/book.ts";
import {handOversByField} from "../book/hand-overs.ts";
import {decodeBlob} from "../formats/geopackage/blob.ts";
import type {SqlRow, SqlValue} from "../formats/geopackage/sqlite.ts";
import type {LonLatMultiPolygon} from "../geo/shapes.ts";
import type {ShelfField, ShelfFile, ShelfRun} from "./shelf.ts";

/**
 * The fields of a book that have a job, by farm and name, or the one asked for. A few queries over all of them: one after
 * another for each field would take ten times as long.
 */
export function fieldsOnShelf(book: Book, fieldId?: number): ShelfField[] {
  const {db} = book;
  const asked = (sql: string, column = "field_id"): SqlRow[] => {
    const values: SqlValue[] = fieldId === undefined ? [] : [fieldId];
    return db.all(sql.replace("ASKED", fieldId === undefined ? "1" : `${column} = ?`), values);
  };
  const sources = byField(
    asked("SELECT field_id, kind, name, version, sha256, size FROM sources WHERE ASKED AND current ORDER BY name"),
  );
  const runs = byField(
    asked(
      `SELECT r.field_id, r.id, r.made_at, r.program, r.job_sha256, max(s.version) AS version
       FROM runs r LEFT JOIN sources s ON s.field_id = r.field_id AND s.kind = 'job' AND s.sha256 = r.job_sha256
       WHERE ASKED AND r.current AND r.pruned_at IS NULL GROUP BY r.id`,
      "r.field_id",
    ),
  );
  const inputs = byField(
    asked(
      `SELECT DISTINCT r.field_id, i.name, i.digest FROM step_inputs i JOIN runs r ON r.id = i.run_id
       WHERE ASKED AND r.current AND r.pruned_at IS NULL AND i.kind = 'source'`,
      "r.field_id",
    ),
  );
  const jobs = textsOf(
    asked(
      `SELECT p.sha256, p.content FROM blob_parts p WHERE p.sha256 IN (
         SELECT sha256 FROM sources WHERE ASKED AND kind = 'job' AND current) ORDER BY p.sha256, p.part`,
    ),
    asked(
      `SELECT p.sha256, p.content FROM blob_parts p WHERE p.sha256 IN (
         SELECT job_sha256 FROM runs WHERE ASKED AND current AND pruned_at IS NULL) ORDER BY p.sha256, p.part`,
    ),
  );
  const handOvers = handOversByField(book, fieldId);
  return asked("SELECT id, name, farm, acres, geom FROM fields WHERE ASKED ORDER BY farm, name", "id").flatMap(
    ({id: number, name, farm, acres, geom}) => {
      const id = Number(number);
      const job = sources.get(id)?.find(({kind}) => kind === "job");
      // A field whose job was never put in has nothing to work on here.
      if (!job) return [];
      const files = (sources.get(id) ?? []).filter(({kind}) => kind === "file").map(fileOf);
      const run = runs.get(id)?.[0];
      return {
        id: String(id),
        name: String(name),
        farm: String(farm),
        acres: Number(acres),
        outline: outlineOf(geom),
        job: jobs.get(String(job.sha256)) ?? "",
        version: Number(job.version),
        files,
        ...(run && {run: runOf(run, jobs, files, inputs.get(id) ?? [])}),
        handOvers: handOvers.get(id) ?? [],
      };
    },
  );
}

const fileOf = ({name, sha256, size}: SqlRow): ShelfFile => ({
  name: String(name),
  sha256: String(sha256),
  bytes: Number(size),
});

function runOf(
  run: SqlRow,
  jobs: ReadonlyMap<string, string>,
  files: readonly ShelfFile[],
  inputs: readonly SqlRow[],
): ShelfRun {
  const then = new Map(files.map((file) => [file.name, file.sha256]));
  for (const {name, digest} of inputs) then.set(String(name), String(digest));
  return {
    id: `run-${Number(run.id)}`,
    version: Number(run.version ?? 0),
    madeAt: String(run.made_at),
    program: String(run.program),
    job: jobs.get(String(run.job_sha256)) ?? "",
    files: [...then],
  };
}

function byField(rows: readonly SqlRow[]): Map<number, SqlRow[]> {
  const found = new Map<number, SqlRow[]>();
  for (const row of rows) {
    const id = Number(row.field_id);
    const own = found.get(id) ?? [];
    found.set(id, own);
    own.push(row);
  }
  return found;
}

/** Texts by their digest, from their parts in order. */
function textsOf(...lists: readonly (readonly SqlRow[])[]): Map<string, string> {
  const texts = new Map<string, string>();
  for (const rows of lists) {
    const parts = new Map<string, Uint8Array[]>();
    for (const {sha256, content} of rows) {
      const key = String(sha256);
      parts.set(key, [...(parts.get(key) ?? []), content as Uint8Array]);
    }
    for (const [key, bytes] of parts) texts.set(key, new TextDecoder().decode(Buffer.concat(bytes)));
  }
  return texts;
}

function outlineOf(geometry: unknown): LonLatMultiPolygon {
  if (!(geometry instanceof Uint8Array)) return [];
  const decoded = decodeBlob(geometry);
  if (decoded === "empty" || "wrong" in decoded) return [];
  return decoded.geometry.type === "MultiPolygon" ? decoded.geometry.coordinates : [];
}
