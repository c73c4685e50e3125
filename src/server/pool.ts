import {type CallOptions, isThreadStopped, type Thread} from "./thread.ts";
import type {Work} from "./work.ts";

/** Threads that do the heavy work, so that the server always answers. */
export interface Pool {
  /**
   * @param about - What the work is about: the same goes to the same thread, which then has files, layers and results
   *   at hand. Without it the least busy thread takes it.
   */
  call<Name extends keyof Work>(
    name: Name,
    args: Parameters<Work[Name]>[0],
    about?: string,
    options?: CallOptions,
  ): Promise<ReturnType<Work[Name]>>;
  end(): Promise<void>;
}

/** @param start - Starts a thread; told what to do when it ends by itself. A thread that ended is started again when needed. */
export function poolOf(size: number, start: (onEnd: () => void) => Thread): Pool {
  const threads: (Thread | undefined)[] = Array.from({length: size});
  const at = (slot: number): Thread => {
    const thread =
      threads[slot] ??
      start(() => {
        threads[slot] = undefined;
      });
    threads[slot] = thread;
    return thread;
  };
  // Kept warm: the first is there before it is needed, but after the first page has been shown, which does without.
  const warming = setTimeout(() => at(0), WARM_AFTER_MS);
  return {
    call: async (name, args, about, options) => {
      const slot = about === undefined ? leastBusy(threads) : slotOf(about, size);
      while (true) {
        try {
          return await at(slot).call(name, args, options);
        } catch (error) {
          // The thread was ended to stop another call.
          if (!isThreadStopped(error) || options?.signal?.aborted) throw error;
        }
      }
    },
    end: async () => {
      clearTimeout(warming);
      await Promise.all(threads.map((thread) => thread?.end()));
    },
  };
}

const WARM_AFTER_MS = 4000;

/** A started one that has nothing to do, else one not started, else the one with the least to do. */
function leastBusy(threads: readonly (Thread | undefined)[]): number {
  const load = threads.map((thread) => (thread ? thread.pending() : 0.5));
  return load.indexOf(Math.min(...load));
}

function slotOf(text: string, size: number): number {
  let hash = 0;
  for (let i = 0; i < text.length; i++) hash = (hash * 31 + text.charCodeAt(i)) >>> 0;
  return hash % size;
}
