import type {Command} from "commander";
import {explain, ratedTests, runRates} from "../../pipeline/run-rates.ts";
import {limeWorkingText, ratesText} from "../../report/rates-text.ts";
import {workingText} from "../../report/working-text.ts";
import {withHost} from "../node-host.ts";
import {openJob} from "../open-job.ts";
import {printResult, sayIssues} from "../print.ts";

interface RatesOptions {
  readonly explain?: string;
  readonly json?: boolean;
  readonly quiet?: boolean;
}

export function addRates(program: Command): void {
  program
    .command("rates")
    .description("what the guide recommends for every unit of a job, or one unit's rate with its whole working")
    .argument("<job>", "job file; the paths in it are relative to it")
    .option("--explain <unit>", 'shows the working of one unit: a sample id, or "whole field"')
    .option("--json", "prints rates and working for machines")
    .option("--quiet", "prints no remarks and no progress")
    .action(rates);
}

async function rates(jobPath: string, options: RatesOptions): Promise<void> {
  const {job, files} = openJob(jobPath);
  const result = await withHost(Boolean(options.quiet), (host) => runRates(job, files, host));
  const found = result.strategies.map(({plan, recommendations, lime}) => ({
    strategy: plan.strategy,
    recommendations,
    lime,
  }));
  if (options.explain !== undefined) {
    const explained = explain(result, options.explain);
    const units = new Set(explained.map(({recommendation}) => recommendation.unit));
    const lime = found.flatMap((one) => one.lime.filter(({unit}) => units.has(unit)));
    if (options.json) return printResult(JSON.stringify({rates: explained, lime}, null, 2));
    const texts = explained.map(({recommendation, spreadAs}) => workingText(recommendation, spreadAs));
    return printResult([...texts, ...lime.map((one) => limeWorkingText(one))].join("\n"));
  }
  if (!options.quiet) sayIssues(result.issues);
  printResult(
    options.json
      ? JSON.stringify(found, null, 2)
      : ratesText(
          result.field,
          result.strategies.map((one) => ({...one, tests: ratedTests(one)})),
        ),
  );
}
