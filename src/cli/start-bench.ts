import {mkdtempSync, readFileSync, rmSync} from "node:fs";
import {tmpdir} from "node:os";
import {join} from "node:path";
import {fileURLToPath} from "node:url";
import {isFieldError} from "../errors.ts";
import {type RunningServer, startServer} from "../server/listen.ts";
import {threadShelf} from "../server/shelf-thread.ts";
import {startThread} from "../server/thread.ts";
import {openJob} from "./open-job.ts";

export interface BenchOptions {
  /** Path of the book; made when it is not there. Default: one that is gone afterwards. */
  readonly book?: string | undefined;
  /** Puts the two sample fields into it. */
  readonly sample?: boolean;
  /** 0 takes any that is free. */
  readonly port: number;
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
  const {book, sample = false, port, threads, web = BUILT, report = () => undefined} = options;
  const folder = book === undefined ? mkdtempSync(join(tmpdir(), "loamwright-book-")) : undefined;
  const path = book ?? join(folder as string, "temporary.gpkg");
  const clearUp = (): void => {
    if (folder) rmSync(folder, {recursive: true, force: true});
    process.removeListener("exit", clearUp);
  };
  // Also when the process ends in another way than by `close`.
  process.once("exit", clearUp);
  let ending = false;
  const thread = startThread(fileAt("book-thread"), {}, noQuestions, (error) => {
    if (!ending) report(error);
  });
  try {
    const shelf = await threadShelf(thread, {path});
    const server = await startServer({
      shelf,
      thread: fileAt("run-thread"),
      web,
      port,
      ...(threads !== undefined && {threads}),
      report,
    });
    const close = async (): Promise<void> => {
      ending = true;
      await server.close();
      clearUp();
    };
    if (!sample) return {...server, close};
    try {
      await putInSamples(server);
      return {...server, close};
    } catch (error) {
      await close();
      throw error;
    }
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

/** Those that are there already stay as they are. */
async function putInSamples({service}: RunningServer): Promise<void> {
  for (const name of SAMPLES) {
    const path = fileURLToPath(new URL(`sample-data/${name}/job.json`, ROOT));
    try {
      await service.putIn(readFileSync(path, "utf8"), openJob(path).files);
    } catch (error) {
      if (!isFieldError(error) || error.code !== "book/field-exists") throw error;
    }
  }
}
