import {parentPort} from "node:worker_threads";
import {answerCalls} from "../../src/server/calls.ts";
import {workOf} from "../../src/server/work.ts";

// A working thread that keeps one result, one file and one part of a run.

if (!parentPort) throw new Error("this file is the first of a thread");
answerCalls(parentPort, workOf({resultBytes: 1, fileBytes: 1, partBytes: 1}));
