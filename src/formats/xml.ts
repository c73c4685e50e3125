import {DOMParser} from "@xmldom/xmldom";
import {FieldError} from "../errors.ts";
import {decoderFor, encodeUtf8} from "./text.ts";

/** One element of an XML document as plain data. Comments, processing instructions and the layout are left out. */
export interface XmlElement {
  /** As written, prefix included. */
  readonly name: string;
  /** Has no prototype: a missing attribute is `undefined`, whatever its name. */
  readonly attributes: Readonly<Record<string, string>>;
  readonly children: readonly XmlElement[];
  /** The element's own text, CDATA included, without that of its children. */
  readonly text: string;
}

const MOST_BYTES = 64 * 2 ** 20;
const MOST_DEPTH = 64;
const MOST_ATTRIBUTES = 256;

/**
 * The root element of an XML document.
 *
 * A document type is refused: none of the formats read here needs one, and it is the door to entity bombs and to
 * files of the reader's machine. Nothing outside the bytes is ever read.
 *
 * @param file - Named in errors.
 * @throws {FieldError} `xml/too-large` (64 MiB), `xml/encoding`, `xml/doctype`, `xml/not-well-formed`,
 *   `xml/too-deep` (64 levels), `xml/too-many-attributes` (256 on one element).
 */
export function parseXml(bytes: Uint8Array, file: string): XmlElement {
  if (bytes.length > MOST_BYTES) {
    throw new FieldError(
      "xml/too-large",
      `${file} has ${Math.ceil(bytes.length / 2 ** 20)} MB of XML; the limit is 64 MB.`,
      {
        place: {file},
        hint: "Export fewer fields at a time.",
      },
    );
  }
  const text = decode(bytes, file);
  refuseDoctype(text, file);
  const root = parse(text, file);
  return plain(root, file, 1);
}

/** An element to be written; attributes that are `undefined` are left out, the others stand in the order given. */
export function xml(
  name: string,
  attributes: Readonly<Record<string, string | number | undefined>> = {},
  children: readonly XmlElement[] = [],
): XmlElement {
  const kept = Object.entries(attributes).filter((entry) => entry[1] !== undefined);
  return {name, attributes: Object.fromEntries(kept.map(([key, value]) => [key, String(value)])), children, text: ""};
}

/** An element that holds text and nothing else. */
export function xmlText(name: string, text: string | number): XmlElement {
  return {name, attributes: {}, children: [], text: String(text)};
}

/**
 * The document as UTF-8 without a byte order mark, one element to a line. Text is written where an element has no
 * children; text among children is layout and is not.
 */
export function xmlBytes(root: XmlElement): Uint8Array {
  const lines = ['<?xml version="1.0" encoding="UTF-8"?>'];
  writeElement(root, "", lines);
  return encodeUtf8(`${lines.join("\n")}\n`);
}

function decode(bytes: Uint8Array, file: string): string {
  const label = encodingOf(bytes);
  try {
    const decoder = decoderFor(label, true);
    if (decoder) return decoder.decode(bytes);
  } catch {
    // Bytes that are not text in the encoding: told to the user below, as an unknown encoding is.
  }
  throw new FieldError("xml/encoding", `${file} is not readable as ${label.toUpperCase()} text.`, {
    place: {file},
    hint: "Export it again as UTF-8; the file may be damaged or no XML at all.",
  });
}

/** By the byte order mark, else as declared, else UTF-8. */
function encodingOf(bytes: Uint8Array): string {
  if (bytes[0] === 0xff && bytes[1] === 0xfe) return "utf-16le";
  if (bytes[0] === 0xfe && bytes[1] === 0xff) return "utf-16be";
  if (bytes[0] === 0xef && bytes[1] === 0xbb && bytes[2] === 0xbf) return "utf-8";
  const start = String.fromCharCode(...bytes.subarray(0, 200));
  return /^<\?xml[^>]*?\sencoding\s*=\s*["']([\w.-]+)["']/.exec(start)?.[1]?.toLowerCase() ?? "utf-8";
}

/** A document type can stand only before the root element, among declarations and comments. */
function refuseDoctype(text: string, file: string): void {
  let at = 0;
  for (;;) {
    while (/\s/.test(text[at] ?? "")) at++;
    const end = text.startsWith("<?", at) ? "?>" : text.startsWith("<!--", at) ? "-->" : undefined;
    if (end === undefined) break;
    const close = text.indexOf(end, at);
    if (close < 0) return;
    at = close + end.length;
  }
  if (/^<!doctype/i.test(text.slice(at, at + 9))) {
    throw new FieldError("xml/doctype", `${file} declares a DOCTYPE. It is refused for safety.`, {
      place: {file},
      hint: "Delete the DOCTYPE line in a text editor if you trust the file.",
    });
  }
}

/** What is used of the library's document model. */
interface Node {
  readonly nodeType: number;
  readonly nodeName: string;
  readonly nodeValue: string | null;
  readonly firstChild: Node | null;
  readonly nextSibling: Node | null;
  readonly attributes?: {readonly length: number; item(index: number): {name: string; value: string} | null};
}

function parse(text: string, file: string): Node {
  let reason = "";
  const onError = (_level: string, message: string, context: {locator?: {lineNumber?: number}} | null): void => {
    // A name that lost its accents in an earlier program is no reason to refuse the file.
    if (message.startsWith("Unicode replacement character")) return;
    const line = context?.locator?.lineNumber;
    reason ||= `${message}${line ? ` (near line ${line})` : ""}`;
    throw new Error(message);
  };
  try {
    const root = new DOMParser({onError, normalizeLineEndings}).parseFromString(
      text,
      "application/xml",
    ).documentElement;
    if (root) return root as unknown as Node;
  } catch (error) {
    reason ||= (error as Error).message;
  }
  const shown = reason
    .replace(/\s+/g, " ")
    .replace(/[.!]+$/, "")
    .slice(0, 160);
  throw new FieldError("xml/not-well-formed", `${file} is not well-formed XML: ${shown || "it has no elements"}.`, {
    place: {file},
    hint: "Export the file again; it may have been cut short.",
  });
}

/** The ends of lines of XML 1.0 (section 2.11). The library's own rule is that of XML 1.1 and changes names. */
const normalizeLineEndings = (text: string): string => text.replace(/\r\n?/g, "\n");

const ELEMENT = 1;
const TEXT = 3;
const CDATA = 4;

function plain(node: Node, file: string, depth: number): XmlElement {
  const count = node.attributes?.length ?? 0;
  if (depth > MOST_DEPTH || count > MOST_ATTRIBUTES) {
    const deep = depth > MOST_DEPTH;
    throw new FieldError(
      deep ? "xml/too-deep" : "xml/too-many-attributes",
      deep
        ? `${file} nests its elements more than ${MOST_DEPTH} deep.`
        : `${file} has an element <${node.nodeName.slice(0, 40)}> with ${count} attributes; the limit is ${MOST_ATTRIBUTES}.`,
      {place: {file}, hint: "This is no file of the kind expected; export it again."},
    );
  }
  const attributes: Record<string, string> = Object.create(null);
  for (let i = 0; i < count; i++) {
    const attribute = node.attributes?.item(i);
    if (attribute) attributes[attribute.name] = attribute.value;
  }
  const children: XmlElement[] = [];
  let text = "";
  for (let child = node.firstChild; child; child = child.nextSibling) {
    if (child.nodeType === ELEMENT) children.push(plain(child, file, depth + 1));
    else if (child.nodeType === TEXT || child.nodeType === CDATA) text += child.nodeValue ?? "";
  }
  return {name: node.nodeName, attributes, children, text};
}

function writeElement(element: XmlElement, indent: string, lines: string[]): void {
  const attributes = Object.entries(element.attributes).map(([key, value]) => ` ${key}="${escaped(value)}"`);
  const start = `${indent}<${element.name}${attributes.join("")}`;
  if (element.children.length === 0) {
    const text = element.text.trim() === "" ? "" : escaped(element.text);
    lines.push(text === "" ? `${start}/>` : `${start}>${text}</${element.name}>`);
    return;
  }
  lines.push(`${start}>`);
  for (const child of element.children) writeElement(child, `${indent}  `, lines);
  lines.push(`${indent}</${element.name}>`);
}

const ESCAPES: Readonly<Record<string, string>> = {
  "&": "&amp;",
  "<": "&lt;",
  ">": "&gt;",
  '"': "&quot;",
  "\t": "&#9;",
  "\n": "&#10;",
  "\r": "&#13;",
  // Some readers take these three for the end of a line.
  "\u0085": "&#x85;",
  "\u2028": "&#x2028;",
  "\u2029": "&#x2029;",
};

/** Characters XML cannot hold (controls, half surrogates) become the replacement character. */
function escaped(text: string): string {
  return text
    .replace(/[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\u{10000}-\u{10ffff}]/gu, "\ufffd")
    .replace(/[&<>"\t\n\r\u0085\u2028\u2029]/g, (character) => ESCAPES[character] as string);
}
