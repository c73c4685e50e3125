import type {SqliteEngine} from "../formats/geopackage/sqlite.ts";

/** What a book needs from the machine it lies on. The book itself knows no files, no clock and no names of people. */
export interface BookHost {
  readonly engine: SqliteEngine;
  /**
   * Takes a book for this process alone, and first undoes what a killed process left half done. Gives back how to let
   * go of it.
   *
   * @throws {FieldError} `book/held`, saying by whom; `book/interrupted` when another program left it half written.
   */
  hold(path: string): () => void;
  /**
   * Makes a file whole or not at all: `work` writes it under another name, then it is synced to disk and takes its own.
   *
   * @throws {FieldError} `book/exists` when there is a file of that name.
   */
  install(path: string, work: (temporary: string) => void): void;
  exists(path: string): boolean;
  /** Now, UTC, as in `2026-04-15T13:30:00.000Z`. */
  now(): string;
  /** Who is at work, for the log. */
  readonly who: string;
  /** Hex digest. */
  sha256(bytes: Uint8Array): string;
}
