import {FieldError, type Issue} from "../errors.ts";
import type {Read} from "./file-set.ts";

// The core has no host types, and every host it runs on (Node, browsers, workers) has the Encoding standard.
interface Decoder {
  decode(bytes: Uint8Array): string;
}
const host = globalThis as unknown as {
  TextDecoder: new (label: string, options?: {fatal?: boolean; ignoreBOM?: boolean}) => Decoder;
  TextEncoder: new () => {encode(text: string): Uint8Array};
};

export function encodeUtf8(text: string): Uint8Array {
  return new host.TextEncoder().encode(text);
}

/** A decoder for a label of the Encoding standard, or undefined for a label it does not know. */
export function decoderFor(label: string, strict = false): Decoder | undefined {
  try {
    return new host.TextDecoder(label, {fatal: strict});
  } catch {
    return undefined;
  }
}

/**
 * The text of a file: byte-order marks, UTF-8, UTF-16 with or without a mark, and windows-1252 when it is none of
 * these (with a remark, because that is a guess).
 *
 * @throws {FieldError} `text/binary` when the file is not text at all.
 */
export function readText(bytes: Uint8Array, name: string): Read<string> {
  const issues: Issue[] = [];
  const wide = utf16Label(bytes);
  let text = wide ? decoderFor(wide)?.decode(bytes) : strictUtf8(bytes);
  if (text === undefined) {
    text = (decoderFor("windows-1252") as Decoder).decode(bytes);
    issues.push({
      code: "text/encoding-guessed",
      severity: "note",
      message: `${name} is not UTF-8; it was read as windows-1252 (Latin-1).`,
      place: {file: name},
      hint: "Look at names with accents; save the file as UTF-8 if they are wrong.",
    });
  }
  if (text.includes("\0")) {
    throw new FieldError("text/binary", `${name} is not a text file.`, {
      place: {file: name},
      hint: "Check that the right file was named, and export it again if it was.",
    });
  }
  return {value: text, issues};
}

function strictUtf8(bytes: Uint8Array): string | undefined {
  try {
    return decoderFor("utf-8", true)?.decode(bytes);
  } catch {
    return undefined;
  }
}

/** By mark, or by the zero byte that every plain letter has in UTF-16. */
function utf16Label(bytes: Uint8Array): "utf-16le" | "utf-16be" | undefined {
  if (bytes[0] === 0xff && bytes[1] === 0xfe) return "utf-16le";
  if (bytes[0] === 0xfe && bytes[1] === 0xff) return "utf-16be";
  const length = Math.min(bytes.length, 1024) & ~1;
  let even = 0;
  let odd = 0;
  for (let i = 0; i < length; i += 2) {
    if (bytes[i] === 0) even++;
    if (bytes[i + 1] === 0) odd++;
  }
  const pairs = length / 2;
  if (pairs < 2) return undefined;
  if (odd > 0.6 * pairs && even < 0.1 * pairs) return "utf-16le";
  if (even > 0.6 * pairs && odd < 0.1 * pairs) return "utf-16be";
  return undefined;
}
