import {parentPort} from "node:worker_threads";
import {answerCalls} from "../../src/server/calls.ts";

// A thread that is stuck in one call after another told its step and was answered.

if (!parentPort) throw new Error("this file is the first of a thread");
let other: () => void = () => undefined;
answerCalls(parentPort, {
  stuck: async (_, context) => {
    context.step("waiting for another");
    await new Promise<void>((resolve) => {
      other = resolve;
    });
    // The other is answered first.
    setImmediate(() => {
      for (;;);
    });
    return new Promise(() => undefined);
  },
  quick: async (_, context) => {
    context.step("quick");
    other();
    return "done";
  },
});
