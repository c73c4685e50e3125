import {Command, CommanderError} from "commander";
import {isFieldError} from "../errors.ts";
import {VERSION} from "../pipeline/version.ts";
import {addApplied} from "./commands/applied.ts";
import {addBook} from "./commands/book.ts";
import {addCheck} from "./commands/check.ts";
import {addCompare} from "./commands/compare.ts";
import {addLayers} from "./commands/layers.ts";
import {addRates} from "./commands/rates.ts";
import {addReport} from "./commands/report.ts";
import {addRun} from "./commands/run.ts";
import {addSample} from "./commands/sample.ts";
import {addServe} from "./commands/serve.ts";
import {addZones} from "./commands/zones.ts";
import {EXIT} from "./exit-codes.ts";
import {sayFailure} from "./print.ts";

/** Runs one command line; returns the exit code. Never throws. */
export async function runCli(args: readonly string[]): Promise<number> {
  const program = makeProgram();
  if (!process.stdout.listeners("error").includes(passOverClosedPipe)) process.stdout.on("error", passOverClosedPipe);
  try {
    await program.parseAsync([...args], {from: "user"});
    return typeof process.exitCode === "number" ? process.exitCode : EXIT.ok;
  } catch (error) {
    if (error instanceof CommanderError) return error.exitCode === 0 ? EXIT.ok : EXIT.usage;
    if ((error as {name?: string}).name === "AbortError") return EXIT.cancelled;
    sayFailure(error);
    return isFieldError(error) ? EXIT.input : EXIT.bug;
  }
}

/** A reader that stops early (`| head`) is no error. */
function passOverClosedPipe(error: {code?: string}): void {
  if (error.code !== "EPIPE") throw error;
}

/** Every command; also read by the test that writes docs/cli.md. */
export function makeProgram(): Command {
  const program = new Command("loamwright")
    .description("Soil-sampling plans, rates that explain themselves, and files a spreader can load.")
    .version(VERSION)
    .exitOverride()
    .showHelpAfterError("(loamwright --help tells more)")
    .helpCommand(false);
  addSample(program);
  addRun(program);
  addLayers(program);
  addZones(program);
  addRates(program);
  addCompare(program);
  addReport(program);
  addApplied(program);
  addCheck(program);
  addBook(program);
  addServe(program);
  return program;
}
