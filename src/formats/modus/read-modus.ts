import {FieldError} from "../../errors.ts";
import {readText} from "../text.ts";
import {parseXml} from "../xml.ts";
import {jsonTree} from "./json-tree.ts";
import type {ModusReport} from "./modus-report.ts";
import {readSlim} from "./read-slim.ts";
import {readTree} from "./read-tree.ts";

/**
 * Reads soil results in the open Modus 1 form: XML, the same as JSON, or its short JSON form, told apart by content.
 *
 * Written from facts about the structure; none of the standard's schemas or code lists is part of this program.
 * Everything the document says of a result is passed on as text. Methods whose code is not known, units, and samples
 * of several fields or days are settled by the reader of the records.
 *
 * @throws {FieldError} `modus/not-json`, `modus/request` for a request without results, `modus/no-samples` for a
 *   document that holds none, and what `parseXml` refuses.
 */
export function readModus(bytes: Uint8Array, file: string): ModusReport {
  const {value: text, issues} = readText(bytes, file);
  const report = text.trimStart().startsWith("<") ? readXml(bytes, file) : readJson(text, file);
  if (report.samples.length === 0) {
    throw new FieldError("modus/no-samples", `${file} holds no soil samples.`, {
      place: {file},
      hint: "Check that it is a soil report, and ask the lab for another export if it is.",
    });
  }
  return {...report, issues: [...issues, ...report.issues]};
}

function readXml(bytes: Uint8Array, file: string): ModusReport {
  const root = parseXml(bytes, file);
  if (/modussubmit$/i.test(root.name)) throw request(file);
  return readTree(root, file);
}

function readJson(text: string, file: string): ModusReport {
  let root: unknown;
  try {
    root = JSON.parse(text);
  } catch {
    throw new FieldError("modus/not-json", `${file} is neither XML nor valid JSON.`, {
      place: {file},
      hint: "Export or copy the file again; it may have been cut short.",
    });
  }
  const bag = (typeof root === "object" && root !== null ? root : {}) as Readonly<Record<string, unknown>>;
  if ("ModusSubmit" in bag) throw request(file);
  return "samples" in bag && !("Events" in bag) ? readSlim(bag) : readTree(jsonTree(root), file);
}

function request(file: string): FieldError {
  return new FieldError("modus/request", `${file} is a request to a lab: it holds samples and no results.`, {
    place: {file},
    hint: "Use the file the lab sent back.",
  });
}
