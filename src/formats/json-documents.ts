import {FieldError} from "../errors.ts";

const RECORD_SEPARATOR = "\u001e";

/**
 * The JSON values in a text: one, or one on each line (newline-delimited), or a text sequence whose records begin with
 * a record separator (RFC 8142).
 *
 * @throws {FieldError} `geojson/not-json` with the line.
 */
export function parseJsonDocuments(text: string, file: string): unknown[] {
  if (text.trimStart().startsWith(RECORD_SEPARATOR)) {
    return records(text, RECORD_SEPARATOR).map(({text: record, line}) => parse(record, file, line));
  }
  try {
    return [JSON.parse(text)];
  } catch (error) {
    const lines = records(text, "\n");
    const first = lines[0];
    // A first line that is a whole value means one value on each line; otherwise the document itself is broken.
    if (!first || lines.length < 2 || !isJson(first.text)) throw notJson(file, lineOf(text, error as Error));
    return lines.map(({text: record, line}) => parse(record, file, line));
  }
}

function records(text: string, separator: string): {text: string; line: number}[] {
  const out: {text: string; line: number}[] = [];
  let line = 1;
  for (const part of text.split(separator)) {
    if (part.trim() !== "") out.push({text: part, line});
    line += separator === "\n" ? 1 : part.split("\n").length - 1;
  }
  return out;
}

function parse(text: string, file: string, line: number): unknown {
  try {
    return JSON.parse(text);
  } catch {
    throw notJson(file, line);
  }
}

function isJson(text: string): boolean {
  try {
    JSON.parse(text);
    return true;
  } catch {
    return false;
  }
}

/** The line of a parse error, where the engine gives the position. */
function lineOf(text: string, error: Error): number | undefined {
  const position = / position (\d+)/.exec(error.message)?.[1];
  if (position !== undefined) return text.slice(0, Number(position)).split("\n").length;
  return /end of JSON/.test(error.message) ? text.trimEnd().split("\n").length : undefined;
}

function notJson(file: string, line: number | undefined): FieldError {
  const where = line === undefined ? "" : ` (line ${line})`;
  return new FieldError("geojson/not-json", `${file} is not valid JSON${where}.`, {
    place: line === undefined ? {file} : {file, row: line},
    hint: "Export or copy the file again; it may have been cut short.",
  });
}
