import {createHash} from "node:crypto";
import type {Host} from "../pipeline/host.ts";
import {progressLine} from "./print.ts";
import {nodeSqlite} from "./sqlite-host.ts";

/** Does some work with this process as its host; the progress line and the hold on Ctrl-C end with it, also on an error. */
export async function withHost<T>(quiet: boolean, work: (host: Host) => Promise<T>): Promise<T> {
  const host = nodeHost(quiet);
  try {
    return await work(host);
  } finally {
    host.done();
  }
}

/** This process as a host: a progress line on a terminal, Ctrl-C between two steps. */
export function nodeHost(quiet: boolean): Host & {done(): void} {
  let cancelled = false;
  const cancel = (): void => {
    cancelled = true;
  };
  process.once("SIGINT", cancel);
  return {
    sha256: async (bytes) => createHash("sha256").update(bytes).digest("hex"),
    progress: (step) => {
      if (!quiet) progressLine(step);
    },
    pause: () => new Promise((resolve) => setImmediate(resolve)),
    isCancelled: () => cancelled,
    sqlite: nodeSqlite,
    done: () => {
      process.removeListener("SIGINT", cancel);
      if (!quiet) progressLine("");
    },
  };
}
