import type {Command} from "commander";
import {paceText} from "../../pipeline/make-sampling-papers.ts";
import {runSampling, SAMPLING_RECORD} from "../../pipeline/run-sampling.ts";
import {depthText} from "../../report/sampling-sheet.ts";
import {samplingText} from "../../report/sampling-text.ts";
import type {Strategy} from "../../sampling/plan.ts";
import {withHost} from "../node-host.ts";
import {openJob} from "../open-job.ts";
import {printResult, say, sayIssues} from "../print.ts";
import {writeFolder} from "../write-folder.ts";

interface SampleOptions {
  readonly out: string;
  readonly strategy?: string[];
  readonly paper: "letter" | "a4";
  readonly seed?: string;
  readonly json?: boolean;
  readonly quiet?: boolean;
}

const STRATEGIES: readonly Strategy[] = ["whole-field", "grid", "zone"];

export function addSample(program: Command): void {
  program
    .command("sample")
    .description("what a sampling crew carries: sheet, bag labels, places for receivers, list for the laboratory")
    .argument("<job>", "job file; lab results in it are not needed")
    .requiredOption("--out <folder>", "folder for the papers: all of them are written, or none")
    .option(
      "--strategy <name>",
      `${STRATEGIES.join(", ")}; may be given several times (default: those of the job)`,
      some,
    )
    .addOption(
      program
        .createOption("--paper <size>", "sheet the papers are printed on")
        .choices(["letter", "a4"])
        .default("letter"),
    )
    .option("--seed <number>", "overrides the job's seed")
    .option("--json", "prints a summary for machines")
    .option("--quiet", "prints no remarks and no progress")
    .action(sample);
}

const some = (name: string, before: string[] = []): string[] => [...before, name];

function strategiesOf(names: readonly string[], command: Command): Strategy[] {
  const wrong = names.find((name) => !STRATEGIES.some((strategy) => strategy === name));
  if (wrong !== undefined) command.error(`error: "${wrong}" is no strategy. It is one of ${STRATEGIES.join(", ")}.`);
  return STRATEGIES.filter((strategy) => names.includes(strategy));
}

async function sample(jobPath: string, options: SampleOptions, command: Command): Promise<void> {
  const strategies = options.strategy && strategiesOf(options.strategy, command);
  const {whole, files, paths} = openJob(jobPath, {seed: options.seed, upToLab: true});
  const job = strategies ? {...whole, strategies} : whole;
  const result = await withHost(Boolean(options.quiet), (host) => runSampling(job, files, host, options.paper));
  writeFolder(options.out, result.outputs, paths, SAMPLING_RECORD);
  if (!options.quiet) sayIssues(result.issues);
  const {field, plans, figures, taken, outputs, issues} = result;
  if (options.json) {
    const returned = taken.map(({kind, units, strays, meanDistance, mostDistance}) => ({
      plan: kind,
      taken: units.reduce((sum, {cores}) => sum + cores.length, 0),
      skipped: units.filter(({skipped}) => skipped !== undefined).map(({id}) => id),
      strays: strays.length,
      meanDistanceM: meanDistance,
      mostDistanceM: mostDistance,
    }));
    const summary = {field: field.name, depthM: plans[0]?.depth, plans: figures, taken: returned};
    printResult(JSON.stringify({...summary, files: [...outputs.keys()], issues}, null, 2));
    return;
  }
  printResult(samplingText(field.name, depthText(job.sampling.depth).us, figures, paceText(job)));
  if (!options.quiet) say(`\n${outputs.size} files in ${options.out}: ${[...outputs.keys()].join(", ")}`);
}
