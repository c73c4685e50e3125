import type {Command} from "commander";
import {FieldError} from "../../errors.ts";
import {USUAL_PORT} from "../../server/usual-port.ts";
import {say, sayFailure} from "../print.ts";

interface ServeOptions {
  readonly book?: string;
  readonly port: string;
  readonly sample?: boolean;
}

export function addServe(program: Command): void {
  program
    .command("serve")
    .description("the bench: fields, maps and the ledger in a browser on this machine, until Ctrl-C")
    .option("--book <file>", "book to open, made when it is not there; without it one that is gone afterwards")
    .option("--port <number>", "port on 127.0.0.1; 0 takes any that is free", String(USUAL_PORT))
    .option("--sample", "puts the two sample fields into the book")
    .action(serve);
}

async function serve({book, port, sample}: ServeOptions): Promise<void> {
  // Loaded when it is needed: other commands do without a server.
  const {startBench} = await import("../start-bench.ts");
  const bench = await startBench({book, sample: Boolean(sample), port: portOf(port), report: sayFailure});
  say(`The bench is at ${bench.url}`);
  say(`Book: ${book ?? "a temporary one, gone when this ends"}. Stop with Ctrl-C.`);
  await new Promise<void>((resolve) => {
    for (const signal of ["SIGINT", "SIGTERM"] as const) process.once(signal, () => resolve());
  });
  await bench.close();
}

const MOST_PORT = 65_535;

function portOf(text: string): number {
  if (/^\d{1,5}$/.test(text) && Number(text) <= MOST_PORT) return Number(text);
  throw new FieldError("server/port", `"${text}" is no port.`, {hint: "Write a whole number, as in --port 4180."});
}
