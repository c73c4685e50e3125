import {createHash} from "node:crypto";
import {mkdirSync, readFileSync, writeFileSync} from "node:fs";
import {join} from "node:path";
import {loadFiles} from "../src/cli/load-files.ts";
import {loadGeos} from "../src/geo/geos.ts";
import {filesOf as filesOfJob} from "../src/pipeline/files-of.ts";
import {readJob} from "../src/pipeline/read-job.ts";
import {runJob} from "../src/pipeline/run.ts";
import {FIELDS} from "./make/farm.ts";
import {filesOf} from "./make/files.ts";
import {writeLabReports} from "./make/write-lab-reports.ts";

// Writes Sedgewater Farm, the invented farm of the examples: npm run sample-data
// First what the adviser brings, then what the lab would report for the plans that the field's job makes of it.
await loadGeos();
for (const field of FIELDS) {
  const folder = join(import.meta.dirname, field.id);
  mkdirSync(folder, {recursive: true});
  for (const [name, bytes] of filesOf(field)) {
    writeFileSync(join(folder, name), bytes);
    console.log(`${field.id}/${name}  ${(bytes.length / 1e6).toFixed(2)} MB`);
  }
  const {lab: _lab, rates: _rates, ...plansOnly} = readJob(readFileSync(join(folder, "job.json"), "utf8"), "job.json");
  const {field: planned, strategies} = await runJob(plansOnly, loadFiles(folder, filesOfJob(plansOnly)).files, {
    sha256: async (bytes) => createHash("sha256").update(bytes).digest("hex"),
    progress: () => {},
    pause: async () => {},
    isCancelled: () => false,
  });
  writeLabReports(
    folder,
    planned.frame,
    strategies.map(({plan}) => plan),
  );
  console.log(
    `${field.id}/lab-*.csv for ${strategies.map(({plan}) => `${plan.units.length} ${plan.strategy}`).join(", ")}`,
  );
}
