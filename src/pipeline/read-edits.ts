import {FieldError} from "../errors.ts";
import {bytesOf, type FileSet} from "../formats/file-set.ts";
import {readText} from "../formats/text.ts";
import type {ZoneEdit} from "../zones/edit/zone-edit.ts";
import {zoneEdits} from "./job/zones.ts";

/**
 * A list of edits from a JSON file.
 *
 * @throws {FieldError} `zones/edits-not-json`, `zones/edits-not-valid` naming the edit by its position.
 */
export function readEdits(files: FileSet, file: string): readonly ZoneEdit[] {
  let json: unknown;
  try {
    json = JSON.parse(readText(bytesOf(files, file), file).value);
  } catch (error) {
    if ((error as {name?: string}).name === "FieldError") throw error;
    throw new FieldError("zones/edits-not-json", `${file} is not JSON: ${(error as Error).message}.`, {
      place: {file},
      hint: "Check the commas, quotes and brackets near there.",
    });
  }
  const read = zoneEdits.safeParse(json);
  if (read.success) return read.data as readonly ZoneEdit[];
  const issues = read.error.issues.map(({path, message}) => {
    const [at, ...rest] = path;
    const where = typeof at === "number" ? `Edit ${at + 1}${rest.length > 0 ? `, ${rest.join(".")}` : ""}` : "The file";
    return {
      code: "zones/edits-not-valid",
      severity: "error" as const,
      message: `${where}: ${message}.`.replace(/\.\.$/, "."),
    };
  });
  throw new FieldError("zones/edits-not-valid", issues[0]?.message ?? `${file} is no list of edits.`, {
    place: {file},
    hint: "docs/methods/zones.md shows each kind of edit.",
    issues: issues.slice(1),
  });
}
