import {FieldError, type Issue} from "../errors.ts";
import {nearestName} from "../units/nearest-name.ts";
import type {SqliteHost} from "./geopackage/sqlite.ts";

/** Files as name and bytes: all that readers and writers know of a disk, an upload or a zip. */
export interface FileSet extends ReadonlyMap<string, Uint8Array> {
  /** What databases among the files are opened with; absent where the host lends nothing for that. */
  readonly sqlite?: (() => Promise<SqliteHost>) | undefined;
}

/** What a reader found, with its remarks. */
export interface Read<T> {
  readonly value: T;
  readonly issues: readonly Issue[];
}

/**
 * The bytes of one file.
 *
 * @throws {FieldError} `file/not-found` with the nearest name, `file/empty`.
 */
export function bytesOf(files: FileSet, name: string): Uint8Array {
  const bytes = files.get(name);
  if (!bytes) {
    const near = nearestName(name, files.keys());
    throw new FieldError("file/not-found", `There is no file ${name}.`, {
      place: {file: name},
      hint: near ? `Did you mean ${near}?` : "Check the name.",
    });
  }
  if (bytes.length === 0) {
    throw new FieldError("file/empty", `${name} is empty.`, {place: {file: name}, hint: "Export or copy it again."});
  }
  return bytes;
}

/** Lower-case ending without the dot, empty when there is none. */
export function endingOf(name: string): string {
  return /\.([^./\\]+)$/.exec(name)?.[1]?.toLowerCase() ?? "";
}
