import {parentPort} from "node:worker_threads";
import {answerCalls} from "../../src/server/calls.ts";
import {workOf} from "../../src/server/work.ts";

// A working thread that keeps one result and hardly any files.

if (!parentPort) throw new Error("this file is the first of a thread");
answerCalls(parentPort, workOf({results: 1, fileBytes: 1}));
