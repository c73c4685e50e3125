import {bytesOf} from "../book/blobs.ts";
import type {Book} from "../book/book.ts";
import {findField} from "../book/fields.ts";
import {renameField, sourcesOf} from "../book/sources.ts";
import {FieldError} from "../errors.ts";
import {encodeUtf8, readText} from "../formats/text.ts";
import {readJob} from "../pipeline/read-job.ts";

/**
 * Gives a field of a book another name, and its job in force with it.
 *
 * @param name - The new one; with a farm and a slash before it the field moves to that farm.
 * @returns What it is called now, and whether it has a job.
 */
export function renameInBook(book: Book, field: string, name: string): {farm: string; now: string; job: boolean} {
  const found = findField(book, field);
  const slash = name.indexOf("/");
  const farm = slash < 0 ? found.farm : name.slice(0, slash).trim();
  const now = name.slice(slash + 1).trim();
  if (now === "") {
    throw new FieldError("book/no-name", "A field needs a name.", {hint: 'Write one, as in "Mill Field".'});
  }
  const source = sourcesOf(book, found.id).find(({kind, current}) => kind === "job" && current);
  const bytes = source && bytesOf(book, source.sha256);
  if (!source || !bytes) {
    renameField(book, found, {farm, name: now});
    return {farm, now, job: false};
  }
  const text = renamed(readText(bytes, source.name).value, farm, now);
  const jobFile = {name: source.name, bytes: encodeUtf8(text)};
  renameField(book, found, {farm, name: now}, {job: readJob(text, source.name), jobFile});
  return {farm, now, job: true};
}

/** The job with the new names; laid out as JSON usually is. */
function renamed(text: string, farm: string, name: string): string {
  const {farm: _, ...job} = JSON.parse(text) as {farm?: string; field: object};
  const {$schema, ...rest} = job as {$schema?: string; field: object};
  const made = {
    ...($schema !== undefined && {$schema}),
    ...(farm !== "" && {farm}),
    ...rest,
    field: {...rest.field, name},
  };
  return `${JSON.stringify(made, null, 2)}\n`;
}
