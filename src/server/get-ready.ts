import type {Pool} from "./pool.ts";
import type {KnownResult} from "./results.ts";

/**
 * A result from the shelf is looked at without its layers, and the first change would have to make them first. Layers,
 * zones and plans are made ahead, once the field has been open for a while.
 */
export interface GetReady {
  lookedAt(result: KnownResult): void;
  close(): void;
}

/** By then the page has been shown. */
const AFTER_MS = 2500;

/** @param afterMs - From when a field is first looked at. */
export function getReady(pool: Pool, afterMs = AFTER_MS): GetReady {
  const timers = new Map<string, NodeJS.Timeout>();
  return {
    lookedAt: ({field, spec}) => {
      if (spec.keptAs === undefined || timers.has(field)) return;
      // What is wrong with it is told when it is wanted.
      const work = () => pool.call("ready", {spec}, field).catch(() => undefined);
      timers.set(
        field,
        setTimeout(() => void work(), afterMs),
      );
    },
    close: () => {
      for (const timer of timers.values()) clearTimeout(timer);
    },
  };
}
