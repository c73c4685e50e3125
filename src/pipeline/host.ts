import type {FileSet} from "../formats/file-set.ts";
import type {SqliteHost} from "../formats/geopackage/sqlite.ts";

/** What a run needs from the machine it runs on. Everything else it does itself. */
export interface Host {
  /** Hex digest. */
  sha256(bytes: Uint8Array): Promise<string>;
  /** Told before each step, so that a person sees what takes the time. */
  progress(step: string): void;
  /** Lets the machine breathe between steps. */
  pause(): Promise<void>;
  isCancelled(): boolean;
  /** Lends SQLite, loaded when first asked for. Without it GeoPackages are neither read nor written. */
  sqlite?(): Promise<SqliteHost>;
  /** Keeps what parts of runs made, so that a later run need not make them again. Whoever lends it says how much. */
  readonly memory?: Memory;
}

/** What is kept is never changed by those who get it. */
export interface Memory {
  get(key: string): unknown;
  set(key: string, value: unknown): void;
}

/** The files with what the host lends to look into them. */
export function lendTo(files: FileSet, host: Host): FileSet {
  return host.sqlite ? Object.assign(new Map(files), {sqlite: host.sqlite}) : files;
}

/** Ends a run that was cancelled; recognised by its name, as everywhere on the web platform. */
export class AbortError extends Error {
  override readonly name = "AbortError";
}

/** Between two steps: says what comes, breathes, and stops when asked to. */
export async function step(host: Host, what: string): Promise<void> {
  host.progress(what);
  await breathe(host);
}

/** Within a long step. */
export async function breathe(host: Host): Promise<void> {
  await host.pause();
  if (host.isCancelled()) throw new AbortError("cancelled");
}
