import {readFileSync} from "node:fs";
import {cpus, loadavg} from "node:os";
import {loadFiles} from "../../src/cli/load-files.ts";
import {filesOf} from "../../src/pipeline/files-of.ts";
import {readJob} from "../../src/pipeline/read-job.ts";
import {tableLines} from "../../src/report/text-table.ts";
import {type BenchField, quarterSection} from "./quarter-section.ts";
import {peakMb, systemPeakMb} from "./stopwatch.ts";
import {correlatedField, matrixOf, timeClusters} from "./time-clusters.ts";
import {timeExport} from "./time-export.ts";
import {timeInterpolation} from "./time-interpolation.ts";
import {timePlans} from "./time-plans.ts";
import {timePolygons} from "./time-polygons.ts";
import {timeSlope} from "./time-slope.ts";
import {type StageTime, timeStages} from "./time-stages.ts";

// How long each stage takes on the sample field and on a made-up quarter section: npm run bench

const [cpu] = cpus();
// Anything else that runs meanwhile counts: the load says how much there was.
print(`${cpus().length} cores (${cpu?.model ?? "unknown"}), Node ${process.version}, load ${loadavg()[0]?.toFixed(1)}`);
await report(millrace());
const large = await quarterSection();
await report(large);
for (const line of await timePlans()) print(line);
print(await timeSlope(large.files.get("elevation.tif") as Uint8Array));
print(timeClusters("correlated field", correlatedField()));
print(timeClusters("Millrace", await matrixOf(millrace())));
print(await timePolygons());
print(await timeInterpolation());
for (const line of await timeExport()) print(line);

async function report(field: BenchField): Promise<void> {
  print(`\n${field.name}`);
  for (const line of tableLines(columnsOf(await timeStages(field)), 100)) print(line);
  print(
    `Peak resident memory so far: ${peakMb().toFixed(0)} MB between stages, ${systemPeakMb().toFixed(0)} MB within.\n`,
  );
}

function columnsOf(times: readonly StageTime[]) {
  const figures = (head: string[], text: (time: StageTime) => string) =>
    ({head, align: "right", cells: times.map(text)}) as const;
  return [
    {head: ["stage"], align: "left", cells: times.map(({stage}) => stage)} as const,
    figures(["shortest", "s"], ({seconds}) => seconds.toFixed(3)),
    figures(["worked", "through"], ({count}) => count.toLocaleString("en-US")),
    {head: ["of"], align: "left", cells: times.map(({of}) => of)} as const,
    figures(["per second"], ({count, seconds}) => Math.round(count / seconds).toLocaleString("en-US")),
  ];
}

function millrace(): BenchField {
  const folder = new URL("../../sample-data/millrace/", import.meta.url).pathname;
  const job = readJob(readFileSync(`${folder}job.json`, "utf8"), "job.json");
  return {name: "Millrace", job, files: loadFiles(folder, filesOf(job)).files};
}

function print(line: string): void {
  process.stdout.write(`${line}\n`);
}
