import type {Command} from "commander";
import {FieldError, isFieldError} from "../../errors.ts";
import {USUAL_PORT} from "../../server/usual-port.ts";
import {addressOf} from "../book-owner.ts";
import {openBrowser} from "../open-browser.ts";
import {say, sayFailure} from "../print.ts";

interface ServeOptions {
  readonly book?: string;
  readonly port?: string;
  readonly sample?: boolean;
  readonly open?: boolean;
}

export function addServe(program: Command): void {
  program
    .command("serve")
    .description("the bench: fields, maps and the ledger in a browser on this machine, until Ctrl-C")
    .option("--book <file>", "book to open, made when it is not there; without it one that is gone afterwards")
    .option(
      "--port <number>",
      `port on 127.0.0.1; 0 takes any that is free; without it ${USUAL_PORT}, or any where that is taken`,
    )
    .option("--sample", "puts the two sample fields into the book, once, and works them out")
    .option("--open", "also shows it in the browser, where there is one")
    .option("--no-open", "does not show it in the browser")
    .action(serve);
}

async function serve({book, port, sample, open = false}: ServeOptions): Promise<void> {
  const wanted = port === undefined ? undefined : portOf(port);
  // Loaded when it is needed: other commands do without a server.
  const {startBench} = await import("../start-bench.ts");
  const begun = {book, sample: Boolean(sample), workOut: true, port: wanted, report: sayFailure};
  const bench = await startBench(begun).catch((error: unknown) => {
    if (open && openElsewhere(error, book)) return undefined;
    throw error;
  });
  if (!bench) return;
  if (wanted === undefined && bench.port !== USUAL_PORT) say(`Port ${USUAL_PORT} is taken, so another was chosen.`);
  say(`The bench is at ${bench.url}`);
  say(`Book: ${book ?? "a temporary one, gone when this ends"}. Stop with Ctrl-C.`);
  if (open) openBrowser(bench.url);
  await new Promise<void>((resolve) => {
    for (const signal of ["SIGINT", "SIGTERM"] as const) process.once(signal, () => resolve());
  });
  await bench.close();
}

/** Whoever wants to see a book that another bench has open is shown that one. */
function openElsewhere(error: unknown, book: string | undefined): boolean {
  if (book === undefined || !isFieldError(error) || error.code !== "book/held") return false;
  const address = addressOf(book);
  if (address === undefined) return false;
  say(`${book} is open already: the bench is at ${address}`);
  openBrowser(address);
  return true;
}

const MOST_PORT = 65_535;

function portOf(text: string): number {
  if (/^\d{1,5}$/.test(text) && Number(text) <= MOST_PORT) return Number(text);
  throw new FieldError("server/port", `"${text}" is no port.`, {hint: "Write a whole number, as in --port 4180."});
}
