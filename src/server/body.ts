import {FieldError, type Issue} from "../errors.ts";
import type {z} from "../pipeline/job/shared.ts";

export interface BodyLimits {
  /** Most bytes of a file sent in. */
  readonly fileBytes: number;
  /** Most bytes of any other request. */
  readonly jsonBytes: number;
  /** Longest silence in the middle of a body. */
  readonly idleMs: number;
}

/**
 * The body of a request as it comes in. A sender that falls silent is not waited for, and no more is taken than may be.
 *
 * @param what - Is sent, in words.
 * @throws {FieldError} `request/too-large` before the first byte where the length is told, `request/slow`,
 *   `request/broken-off`.
 */
export async function* chunksOf(
  request: Request,
  {what, mostBytes, idleMs}: {readonly what: string; readonly mostBytes: number; readonly idleMs: number},
): AsyncGenerator<Uint8Array> {
  if (Number(request.headers.get("content-length") ?? 0) > mostBytes) throw tooLarge(what, mostBytes);
  const reader = request.body?.getReader();
  if (!reader) return;
  let bytes = 0;
  let whole = false;
  try {
    while (true) {
      const {done, value} = await within(reader.read(), idleMs);
      if (done) break;
      bytes += value.length;
      if (bytes > mostBytes) throw tooLarge(what, mostBytes);
      yield value;
    }
    whole = true;
  } finally {
    if (!whole) reader.cancel().catch(() => undefined);
  }
}

/**
 * A JSON body, checked.
 *
 * @throws {FieldError} `request/too-large`, `request/not-json`, `request/not-valid`, and those of `chunksOf`.
 */
export async function jsonOf<Shape extends z.ZodType>(
  request: Request,
  shape: Shape,
  {jsonBytes, idleMs}: BodyLimits,
): Promise<z.output<Shape>> {
  const chunks: Uint8Array[] = [];
  for await (const chunk of chunksOf(request, {what: "The request", mostBytes: jsonBytes, idleMs})) chunks.push(chunk);
  return checked(parsed(joined(chunks)), shape, "the request");
}

/** @throws {FieldError} `request/not-valid`, naming everything that is wrong. */
export function checked<Shape extends z.ZodType>(value: unknown, shape: Shape, what: string): z.output<Shape> {
  const result = shape.safeParse(value);
  if (result.success) return result.data;
  const issues = result.error.issues.map(
    ({path, message}): Issue => ({
      code: "request/not-valid",
      severity: "error",
      message: `${path.length > 0 ? path.join(".") : what}: ${message}.`,
    }),
  );
  const [first, ...others] = issues as [Issue, ...Issue[]];
  throw new FieldError("request/not-valid", first.message, {hint: "See docs/serve.md.", issues: others});
}

function joined(chunks: readonly Uint8Array[]): Uint8Array {
  const bytes = new Uint8Array(chunks.reduce((sum, {length}) => sum + length, 0));
  let at = 0;
  for (const chunk of chunks) {
    bytes.set(chunk, at);
    at += chunk.length;
  }
  return bytes;
}

/** Deeper than anything a job holds; what is nested without end would exhaust the stack of whoever walks it. */
const MOST_LEVELS = 100;

function parsed(bytes: Uint8Array): unknown {
  if (levelsOf(bytes) > MOST_LEVELS) {
    throw new FieldError("request/not-valid", `The request is nested more than ${MOST_LEVELS} levels deep.`, {
      hint: "Send what docs/serve.md describes.",
    });
  }
  try {
    return JSON.parse(new TextDecoder("utf-8", {fatal: true}).decode(bytes));
  } catch (error) {
    throw new FieldError("request/not-json", `The request is not JSON: ${(error as Error).message}.`, {
      hint: "Send JSON in UTF-8.",
    });
  }
}

/** How deep brackets go, those in text left out. */
function levelsOf(bytes: Uint8Array): number {
  let [level, deepest, inText] = [0, 0, false];
  for (let i = 0; i < bytes.length; i++) {
    const byte = bytes[i];
    if (inText) {
      if (byte === BACKSLASH) i++;
      else if (byte === QUOTE) inText = false;
    } else if (byte === QUOTE) inText = true;
    else if (byte === OPEN_LIST || byte === OPEN_OBJECT) deepest = Math.max(deepest, ++level);
    else if (byte === CLOSE_LIST || byte === CLOSE_OBJECT) level--;
  }
  return deepest;
}

const [QUOTE, BACKSLASH] = [0x22, 0x5c];
const [OPEN_LIST, CLOSE_LIST, OPEN_OBJECT, CLOSE_OBJECT] = [0x5b, 0x5d, 0x7b, 0x7d];

async function within<T>(work: Promise<T>, ms: number): Promise<T> {
  let timer: ReturnType<typeof setTimeout> | undefined;
  const late = new Promise<never>((_, reject) => {
    timer = setTimeout(() => reject(slow(ms)), ms);
  });
  try {
    return await Promise.race([work, late]);
  } catch (error) {
    if ((error as {code?: unknown}).code === "request/slow") throw error;
    throw new FieldError("request/broken-off", "The request ended before it was whole.", {hint: "Send it again."});
  } finally {
    clearTimeout(timer);
  }
}

function slow(ms: number): FieldError {
  return new FieldError("request/slow", `Nothing more of the request came for ${ms / 1000} seconds.`, {
    hint: "Send it again.",
  });
}

function tooLarge(what: string, mostBytes: number): FieldError {
  const most =
    mostBytes >= 2 ** 20 ? `${Math.round(mostBytes / 2 ** 20).toLocaleString("en-US")} MiB` : `${mostBytes} bytes`;
  return new FieldError("request/too-large", `${what} holds more than ${most}.`, {
    hint: "Cut it to the field, or leave out what is not needed.",
  });
}
