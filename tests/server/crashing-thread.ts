import {oddThread} from "./odd-thread.ts";

// Dies as a thread does that runs out of memory.
oddThread("dying", () => {
  setImmediate(() => {
    throw new Error("out of memory, say");
  });
  return new Promise(() => undefined);
});
