import {parentPort} from "node:worker_threads";
import {answerCalls, type Handlers} from "../../src/server/calls.ts";
import type {RunSpec} from "../../src/server/run-spec.ts";
import {workOf} from "../../src/server/work.ts";

// A working thread that never ends a step of a job with seed 666.

if (!parentPort) throw new Error("this file is the first of a thread");
const work = workOf({});
const handlers: Handlers = {
  ...work,
  card: async (args: {readonly spec: RunSpec}, context) => {
    if (JSON.parse(args.spec.job).seed !== 666) return work.card?.(args as never, context);
    context.step("counting without end");
    for (;;);
  },
};
answerCalls(parentPort, handlers);
