import {createRequire} from "node:module";
import {pathToFileURL} from "node:url";
import {Worker} from "node:worker_threads";
import {AbortError} from "../pipeline/host.ts";
import {buffersOf, type FromThread, plain, revived, type ToThread} from "./calls.ts";

/** A thread that answers calls. */
export interface Thread {
  /** Calls not answered yet. */
  readonly pending: () => number;
  call<T>(name: string, args: unknown, more?: CallOptions): Promise<T>;
  end(): Promise<void>;
}

export interface CallOptions {
  readonly onStep?: (step: string) => void;
  /** The thread is told and stops between two steps; one that does not in time is ended. */
  readonly signal?: AbortSignal;
}

interface Waiting {
  readonly resolve: (value: never) => void;
  readonly reject: (error: unknown) => void;
  readonly onStep?: ((step: string) => void) | undefined;
}

/**
 * Starts a thread.
 *
 * @param entry - Its first file; `.ts` files are loaded with tsx, for those who work on the sources.
 * @param data - What it is given to begin with.
 * @param answers - What it may ask. Bytes it is answered with are given away.
 * @param onEnd - Told when it ended by itself: everything it still owed has been refused by then.
 */
export function startThread(
  entry: URL,
  data: object,
  answers: (name: string, args: unknown) => Promise<unknown>,
  onEnd: (error: Error) => void,
): Thread {
  // Reading rasters looks for data given to its thread, so there must be some.
  const worker = new Worker(BOOT, {eval: true, workerData: {...data, entry: entry.href, loader: loaderFor(entry)}});
  const waiting = new Map<number, Waiting>();
  let calls = 0;
  /** Calls not answered yet that told a step, the last to tell one last: a long step is of that one. */
  const underWay = new Set<number>();
  let ended = false;
  const post = (message: ToThread): void => worker.postMessage(message);
  worker.on("message", async (message: FromThread) => {
    if ("ask" in message) {
      try {
        const value = await answers(message.name, message.args);
        worker.postMessage({answer: message.ask, value} satisfies ToThread, buffersOf(value));
      } catch (error) {
        post({answer: message.ask, error: plain(error)});
      }
      return;
    }
    const one = waiting.get(message.call);
    if ("step" in message) {
      underWay.delete(message.call);
      if (one) underWay.add(message.call);
      return one?.onStep?.(message.step);
    }
    waiting.delete(message.call);
    underWay.delete(message.call);
    if (message.error) one?.reject(revived(message.error));
    else one?.resolve(message.value as never);
  });
  const stop = (why: Error): void => {
    if (ended) return;
    ended = true;
    for (const {reject} of waiting.values()) reject(why);
    waiting.clear();
    onEnd(why);
  };
  worker.on("error", (error) => stop(new ThreadEnded(`A working thread stopped: ${(error as Error).message}`)));
  worker.on("exit", (code) => stop(new ThreadEnded(`A working thread stopped with code ${code}.`)));
  const cancel = (call: number): void => {
    post({cancel: call});
    const endIfStuck = (): void => {
      const one = waiting.get(call);
      if (!one) return;
      // It waits behind another, or for a thread that is only starting: it may still get stuck.
      if (call !== [...underWay].at(-1)) return void setTimeout(endIfStuck, PATIENCE_MS).unref();
      waiting.delete(call);
      one.reject(new AbortError("cancelled"));
      stop(new ThreadStopped("A working thread was ended in the middle of a step."));
      void worker.terminate();
    };
    setTimeout(endIfStuck, PATIENCE_MS).unref();
  };
  return {
    pending: () => waiting.size,
    call: <T>(name: string, args: unknown, {onStep, signal}: CallOptions = {}) =>
      new Promise<T>((resolve, reject) => {
        if (ended) return reject(new ThreadEnded("A working thread had stopped."));
        if (signal?.aborted) return reject(new AbortError("cancelled"));
        calls += 1;
        const call = calls;
        waiting.set(call, {resolve, reject, onStep});
        signal?.addEventListener("abort", () => cancel(call), {once: true});
        post({call, name, args});
      }),
    end: async () => {
      await worker.terminate();
    },
  };
}

/**
 * How long a step may go on that nobody waits for any more. A new thread has to make again what this one has at hand,
 * which takes as long for a field with yield logs.
 */
const PATIENCE_MS = 3000;

/** What a call is refused with whose thread is gone. */
class ThreadEnded extends Error {
  override readonly name = "ThreadEnded";
}

/** The same where the thread was ended because of another call: this one can be made again. */
class ThreadStopped extends ThreadEnded {}

export const isThreadStopped = (error: unknown): boolean => error instanceof ThreadStopped;

export const isThreadEnded = (error: unknown): boolean => error instanceof ThreadEnded;

const BOOT = `
const {workerData} = require("node:worker_threads");
const fail = (error) => { throw error; };
const load = () => import(workerData.entry);
if (workerData.loader) import(workerData.loader).then(({register}) => { register(); return load(); }).catch(fail);
else load().catch(fail);
`;

/** What loads sources in a thread, found from here and not from wherever the command was started. */
function loaderFor({href}: URL): string | undefined {
  if (!href.endsWith(".ts")) return undefined;
  // The module beside the script that a require finds: only modules can be loaded here.
  return pathToFileURL(
    createRequire(import.meta.url)
      .resolve("tsx/esm/api")
      .replace(/cjs$/, "mjs"),
  ).href;
}
