import {FieldError, type Issue} from "../errors.ts";
import type {z} from "../pipeline/job/shared.ts";
import {tooLarge} from "./tray.ts";

export interface BodyLimits {
  readonly jsonBytes: number;
  /** Longest silence in the middle of a body. */
  readonly idleMs: number;
}

/**
 * The body of a request as it comes in. A sender that falls silent is not waited for.
 *
 * @throws {FieldError} `request/slow`, `request/broken-off`.
 */
export async function* chunksOf(request: Request, idleMs: number): AsyncGenerator<Uint8Array> {
  const reader = request.body?.getReader();
  if (!reader) return;
  let whole = false;
  try {
    while (true) {
      const {done, value} = await within(reader.read(), idleMs);
      if (done) break;
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
  if (Number(request.headers.get("content-length") ?? 0) > jsonBytes) throw tooLarge("The request", jsonBytes);
  const chunks: Uint8Array[] = [];
  let bytes = 0;
  for await (const chunk of chunksOf(request, idleMs)) {
    bytes += chunk.length;
    if (bytes > jsonBytes) throw tooLarge("The request", jsonBytes);
    chunks.push(chunk);
  }
  return checked(parsed(Buffer.concat(chunks)), shape, "the request");
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
  let timer: NodeJS.Timeout | undefined;
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
