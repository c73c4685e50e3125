import type {Command} from "commander";
import {runLayers} from "../../pipeline/run-layers.ts";
import {layersText} from "../../report/layers-text.ts";
import {withHost} from "../node-host.ts";
import {openJob} from "../open-job.ts";
import {printResult, say, sayIssues} from "../print.ts";
import {writeFolder} from "../write-folder.ts";

interface LayersOptions {
  readonly out?: string;
  readonly json?: boolean;
  readonly quiet?: boolean;
}

export function addLayers(program: Command): void {
  program
    .command("layers")
    .description("the layers of a job and what they hold: coverage, spread, smoothness, likeness, say in zones")
    .argument("<job>", "job file; the paths in it are relative to it")
    .option("--out <folder>", "folder for a GeoTIFF of each layer and layers.json: all of them are written, or none")
    .option("--json", "prints the findings for machines")
    .option("--quiet", "prints no remarks and no progress")
    .action(layers);
}

async function layers(jobPath: string, options: LayersOptions): Promise<void> {
  const {job, files, paths} = openJob(jobPath, {upToLab: true});
  const result = await withHost(Boolean(options.quiet), (host) => runLayers(job, files, host));
  if (options.out !== undefined) writeFolder(options.out, result.outputs, paths);
  if (!options.quiet) sayIssues(result.issues);
  const {field, audit, shares, outputs, issues} = result;
  if (options.json) {
    const share = Object.fromEntries(shares);
    printResult(JSON.stringify({field: field.name, ...audit, sharePct: share, issues}, null, 2));
    return;
  }
  printResult(layersText(field.name, audit, shares, 112));
  if (options.out !== undefined && !options.quiet) say(`\n${outputs.size} files in ${options.out}.`);
}
