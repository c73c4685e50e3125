/** Work on the book that is to be whole before anybody sees its fields, as putting sample fields in. */
export interface Preparing {
  /** What is being done, in words; undefined when nothing is. */
  words(): string | undefined;
  /** Resolves when nothing is being done, also when it failed. */
  done(): Promise<void>;
  /** Does it, and lets others wait. */
  during<T>(words: string, work: () => Promise<T>): Promise<T>;
}

export function preparing(): Preparing {
  let now: {readonly words: string; readonly done: Promise<unknown>} | undefined;
  return {
    words: () => now?.words,
    done: async () => {
      await now?.done.catch(() => undefined);
    },
    during: async (words, work) => {
      const done = work();
      now = {words, done};
      try {
        return await done;
      } finally {
        now = undefined;
      }
    },
  };
}
