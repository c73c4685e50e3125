import {createHash} from "node:crypto";
import {readFileSync, writeFileSync} from "node:fs";
import {fileURLToPath} from "node:url";
import {expect, it} from "vitest";
import {loadFiles} from "../../src/cli/load-files.ts";
import {filesOf} from "../../src/pipeline/files-of.ts";
import {readJob} from "../../src/pipeline/read-job.ts";
import {runJob} from "../../src/pipeline/run.ts";
import {ratesPicture} from "../../src/report/run-picture.ts";

// The picture in the README is drawn from the run it stands beside. `REGEN=1 npm run unit tests/docs` draws it again.
it("docs/millrace.svg shows the rates of the sample run", async () => {
  const folder = fileURLToPath(new URL("../../sample-data/millrace/", import.meta.url));
  const page = new URL("../../docs/millrace.svg", import.meta.url);
  const job = readJob(readFileSync(`${folder}job.json`, "utf8"), "job.json");
  const {field, strategies} = await runJob(job, loadFiles(folder, filesOf(job)).files, {
    sha256: async (bytes) => createHash("sha256").update(bytes).digest("hex"),
    progress: () => {},
    pause: async () => {},
    isCancelled: () => false,
  });
  const svg = ratesPicture(
    "Phosphate, three ways",
    field,
    strategies.flatMap(({plan, prescriptions: [prescription]}) => (prescription ? [{plan, prescription}] : [])),
  );
  if (process.env.REGEN) writeFileSync(page, svg);
  expect(readFileSync(page, "utf8")).toBe(svg);
});
