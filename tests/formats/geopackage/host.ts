import {nodeSqlite} from "../../../src/cli/sqlite-host.ts";

/** What the command line lends: the engine, and files in a folder of their own that goes when the work is done. */
export const nodeHost = nodeSqlite;
