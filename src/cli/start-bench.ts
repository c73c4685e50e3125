import {mkdtempSync, readFileSync, rmSync} from "node:fs";
import {tmpdir} from "node:os";
import {join} from "node:path";
import {fileURLToPath} from "node:url";
import {isFieldError} from "../errors.ts";
import {type RunningServer, type ServerOptions, startServer} from "../server/listen.ts";
import type {Shelf} from "../server/shelf.ts";
import {threadShelf} from "../server/shelf-thread.ts";
import {startThread} from "../server/thread.ts";
import {tellAddress} from "./book-owner.ts";
import {openJob} from "./open-job.ts";

export interface BenchOptions {
  /** Path of the book; made when it is not there. Default: one that is gone afterwards. */
  readonly book?: string | undefined;
  /** Puts the two sample fields into it, once in the life of a book; the server listens before they are in. */
  readonly sample?: boolean;
  /** Works the sample fields out that have no results yet, while the server already answers. */
  readonly workOut?: boolean;
  /** 0 takes any that is free. Default: the usual one, and any that is free where that is taken. */
  readonly port?: number | undefined;
  readonly threads?: number;
  /** Folder the page was built to; default: where the build puts it. */
  readonly web?: string | undefined;
  readonly report?: (error: unknown) => void;
}

const HERE = import.meta.url;
const ENDING = HERE.endsWith(".ts") ? "ts" : "js";
const ROOT = new URL("../../", HERE);
const BUILT = fileURLToPath(new URL("dist/web/", ROOT));
const SAMPLES = ["kiln-forty", "millrace"];

/**
 * The server with a book and the page that was built.
 *
 * @throws {FieldError} those of `openBook` and `startServer`.
 */
export async function startBench(options: BenchOptions): Promise<RunningServer> {
  const {book, sample = false, workOut = false, port, threads, web = BUILT, report = () => undefined} = options;
  const folder = book === undefined ? mkdtempSync(join(tmpdir(), "loamwright-book-")) : undefined;
  const path = book ?? join(folder as string, "temporary.gpkg");
  const clearUp = (): void => {
    if (folder) rmSync(folder, {recursive: true, force: true});
    process.removeListener("exit", clearUp);
  };
  // Also when the process ends in another way than by `close`.
  process.once("exit", clearUp);
  // A book that does not open is refused by what opens it; the end of its thread says no more.
  let ending = true;
  const thread = startThread(fileAt("book-thread"), {}, noQuestions, (error) => {
    if (!ending) report(error);
  });
  try {
    const shelf = await threadShelf(thread, {path});
    ending = false;
    const parts = {shelf, thread: fileAt("run-thread"), web, report, ...(threads !== undefined && {threads})};
    const server = port === undefined ? await onUsualPort(parts) : await startServer({...parts, port});
    tellAddress(path, server.url);
    const close = async (): Promise<void> => {
      ending = true;
      await server.close();
      clearUp();
    };
    if (sample) {
      begin(server, shelf, workOut).catch((error) => {
        if (!ending) report(error);
      });
    }
    return {...server, close};
  } catch (error) {
    ending = true;
    clearUp();
    throw error;
  }
}

const fileAt = (name: string): URL => new URL(`./${name}.${ENDING}`, HERE);

async function noQuestions(name: string): Promise<never> {
  throw new Error(`the book's thread may not ask for ${name}`);
}

/** Whoever named no port does not mind which it is. */
async function onUsualPort(parts: ServerOptions): Promise<RunningServer> {
  try {
    // The shelf outlives a port that is taken.
    return await startServer({...parts, shelf: {...parts.shelf, close: async () => undefined}}).then((server) => ({
      ...server,
      close: async () => {
        await server.close();
        await parts.shelf.close();
      },
    }));
  } catch (error) {
    if (!isFieldError(error) || !error.code.startsWith("server/port-")) {
      await parts.shelf.close();
      throw error;
    }
    return startServer({...parts, port: 0});
  }
}

/** What a book notes of its sample fields: their ids. */
const NOTED = "sample fields";

async function begin({service}: RunningServer, shelf: Shelf, workOut: boolean): Promise<void> {
  const ids = await service.preparing.during(async (say) => {
    const known = await shelf.fact(NOTED);
    if (known !== undefined) return known.split(" ");
    say("putting the sample farm in");
    const put = await putInSamples({service});
    await shelf.noteFact(NOTED, put.join(" "));
    return put;
  });
  if (!workOut) return;
  const fields = await Promise.all(ids.map((id) => shelf.field(id)));
  await Promise.all(fields.map((field) => field && !field.run && service.workOut(field.id)));
}

/** Those that are there already stay as they are. */
async function putInSamples({service}: Pick<RunningServer, "service">): Promise<string[]> {
  const ids: string[] = [];
  for (const name of SAMPLES) {
    const path = fileURLToPath(new URL(`sample-data/${name}/job.json`, ROOT));
    try {
      ids.push(await service.putIn(readFileSync(path, "utf8"), openJob(path).files));
    } catch (error) {
      if (!isFieldError(error) || error.code !== "book/field-exists") throw error;
    }
  }
  return ids;
}
