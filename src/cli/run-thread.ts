import {parentPort} from "node:worker_threads";
import {answerCalls} from "../server/calls.ts";
import {workOf} from "../server/work.ts";
import {nodeSqlite} from "./sqlite-host.ts";

// A working thread of the server: runs, pictures, reports.

if (!parentPort) throw new Error("this file is the first of a thread");
answerCalls(parentPort, workOf({sqlite: nodeSqlite}));
