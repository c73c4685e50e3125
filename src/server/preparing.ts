/** Work on the book that is to be whole before anybody sees its fields, as putting sample fields in. */
export interface Preparing {
  /** What is being done, in words; undefined when nothing is. */
  words(): string | undefined;
  /** Resolves when nothing is being done, also when it failed. */
  done(): Promise<void>;
  /** Does it, and lets others wait from this moment on. `say` tells what is being done. */
  during<T>(work: (say: (words: string) => void) => Promise<T>): Promise<T>;
}

export function preparing(): Preparing {
  let now: {words?: string; done: Promise<unknown>} | undefined;
  return {
    words: () => now?.words,
    done: async () => {
      await now?.done.catch(() => undefined);
    },
    during: async (work) => {
      const own: {words?: string; done: Promise<unknown>} = {done: Promise.resolve()};
      now = own;
      const done = work((words) => {
        own.words = words;
      });
      own.done = done;
      try {
        return await done;
      } finally {
        now = undefined;
      }
    },
  };
}
