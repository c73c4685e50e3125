import {type Issue, isFieldError, type Place} from "../errors.ts";

// How a thread and the server talk: numbered calls with answers, steps on the way, and questions back.

/** What the server posts to a thread. */
export type ToThread =
  | {readonly call: number; readonly name: string; readonly args: unknown}
  | {readonly cancel: number}
  | {readonly answer: number; readonly value?: unknown; readonly error?: PlainError};

/** What a thread posts to the server. */
export type FromThread =
  | {readonly call: number; readonly step: string}
  | {readonly call: number; readonly value?: unknown; readonly error?: PlainError}
  | {readonly ask: number; readonly name: string; readonly args: unknown};

/** An error as plain data, whole enough to be thrown again. */
export interface PlainError {
  readonly name: string;
  readonly message: string;
  readonly stack?: string;
  readonly code?: string;
  readonly place?: Place;
  readonly hint?: string;
  readonly issues?: readonly Issue[];
}

/** What a call sees of the one who called. */
export interface CallContext {
  step(what: string): void;
  isCancelled(): boolean;
  /** Asks the server something, as for the bytes of a file. */
  ask(name: string, args: unknown): Promise<unknown>;
}

export type Handlers = Readonly<Record<string, (args: never, context: CallContext) => Promise<unknown>>>;

interface Port {
  postMessage(message: FromThread, transfer: readonly ArrayBuffer[]): void;
  on(event: "message", take: (message: ToThread) => void): unknown;
}

/**
 * The thread's side: takes calls and answers them, several at a time where they wait for something.
 *
 * @param givesAway - Bytes it answers with are no longer needed here, and are handed over instead of copied.
 */
export function answerCalls(port: Port, handlers: Handlers, givesAway = false): void {
  const cancelled = new Set<number>();
  const asked = new Map<number, {resolve(value: unknown): void; reject(error: unknown): void}>();
  let asks = 0;
  const contextOf = (call: number): CallContext => ({
    step: (step) => port.postMessage({call, step}, []),
    isCancelled: () => cancelled.has(call),
    ask: (name, args) =>
      new Promise((resolve, reject) => {
        asks += 1;
        asked.set(asks, {resolve, reject});
        port.postMessage({ask: asks, name, args}, []);
      }),
  });
  port.on("message", async (message) => {
    if ("cancel" in message) cancelled.add(message.cancel);
    else if ("answer" in message) {
      const waiting = asked.get(message.answer);
      asked.delete(message.answer);
      if (message.error) waiting?.reject(revived(message.error));
      else waiting?.resolve(message.value);
    } else {
      const {call, name, args} = message;
      try {
        const handler = handlers[name];
        if (!handler) throw new Error(`this thread cannot ${name}`);
        const value = await handler(args as never, contextOf(call));
        port.postMessage({call, value}, givesAway ? buffersOf(value) : []);
      } catch (error) {
        port.postMessage({call, error: plain(error)}, []);
      }
      cancelled.delete(call);
    }
  });
}

/** The buffer of bytes that are all there is in it. */
export function buffersOf(value: unknown): ArrayBuffer[] {
  if (!(value instanceof Uint8Array) || !(value.buffer instanceof ArrayBuffer)) return [];
  return value.byteLength === value.buffer.byteLength ? [value.buffer] : [];
}

export function plain(error: unknown): PlainError {
  if (isFieldError(error)) {
    const {name, message, code, place, hint, issues} = error;
    return {name, message, code, ...(place && {place}), ...(hint && {hint}), issues};
  }
  if (!(error instanceof Error)) return {name: "Error", message: String(error)};
  return {name: error.name, message: error.message, ...(error.stack && {stack: error.stack})};
}

/** Recognised by name and code on this side too; the stack is that of the thread. */
export function revived({stack, ...facts}: PlainError): Error {
  return Object.assign(new Error(facts.message), facts, stack ? {stack} : {});
}
