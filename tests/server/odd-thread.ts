import {parentPort} from "node:worker_threads";
import {answerCalls, type Handlers} from "../../src/server/calls.ts";
import type {RunSpec} from "../../src/server/run-spec.ts";
import {workOf} from "../../src/server/work.ts";

/** A working thread that does something of its own when it is asked to run a job with seed 666. */
export function oddThread(step: string, act: () => Promise<unknown>): void {
  if (!parentPort) throw new Error("this file is the first of a thread");
  const work = workOf({});
  const handlers: Handlers = {
    ...work,
    card: async (args: {readonly spec: RunSpec}, context) => {
      if (JSON.parse(args.spec.job).seed !== 666) return work.card?.(args as never, context);
      context.step(step);
      return act();
    },
  };
  answerCalls(parentPort, handlers);
}
