import {readFileSync} from "node:fs";
import {expect, it} from "vitest";
import {FIELDS, intoFrameOf} from "../../sample-data/make/farm.ts";
import {type Bag, labReport} from "../../sample-data/make/lab-report.ts";
import {truthAt} from "../../sample-data/make/truth.ts";
import {loadFiles} from "../../src/cli/load-files.ts";
import {nodeHost} from "../../src/cli/node-host.ts";
import {toPlane} from "../../src/geo/frame.ts";
import type {XY} from "../../src/geo/shapes.ts";
import {filesOf} from "../../src/pipeline/files-of.ts";
import {readJob} from "../../src/pipeline/read-job.ts";
import {runJob} from "../../src/pipeline/run.ts";

const folder = new URL("../../sample-data/kiln-forty/", import.meta.url).pathname;

it("validation and second bags go from the plan to the lab and judge the strategies, without a name typed twice", async () => {
  const farm = FIELDS.find(({id}) => id === "kiln-forty") ?? expect.fail("no such field");
  const {layers, lab, ...rest} = JSON.parse(readFileSync(`${folder}job.json`, "utf8"));
  const base = {
    ...rest,
    layers: {soilMap: layers.soilMap},
    strategies: ["whole-field", "grid"],
    sampling: {...rest.sampling, grid: {...rest.sampling.grid, duplicates: 4}, validation: {count: 12}},
  };
  const run = async (job: object, more: ReadonlyMap<string, Uint8Array>) => {
    const read = readJob(JSON.stringify(job), "job.json");
    const names = filesOf(read).filter((name) => !more.has(name));
    const host = nodeHost(true);
    try {
      return await runJob(read, new Map([...loadFiles(folder, names).files, ...more]), host, {evidence: true});
    } finally {
      host.done();
    }
  };
  const {rates: _rates, ...plansOnly} = base;
  const planned = await run(plansOnly, new Map());

  const into = intoFrameOf(farm, planned.field.frame);
  const reported = (bags: readonly Bag[]): Uint8Array =>
    new TextEncoder().encode(
      labReport(
        (x, y) => truthAt(farm, x, y),
        bags.map(({id, cores}) => ({id, cores: cores.map(into)})),
        farm.seed,
      ),
    );
  const {features} = JSON.parse(new TextDecoder().decode(planned.outputs.get("plan-validation-cores.geojson")));
  const validation = new Map<string, XY[]>();
  for (const {properties, geometry} of features) {
    const cores = validation.get(properties.sample) ?? [];
    validation.set(properties.sample, [...cores, toPlane(planned.field.frame, geometry.coordinates)]);
  }
  const bags = planned.strategies.flatMap(({plan}) => [...plan.units, ...(plan.duplicates ?? [])]);
  const places = "plan-validation-places.geojson";
  const files = new Map([
    ["lab.csv", reported(bags)],
    ["lab-validation.csv", reported([...validation].map(([id, cores]) => ({id, cores})))],
    [places, planned.outputs.get(places) as Uint8Array],
  ]);
  const [{analytes}] = lab.files;
  const file = (name: string) => ({file: name, sampleId: "Sample ID", analytes});
  const job = {
    ...base,
    lab: {files: [file("lab.csv")]},
    compare: {holdOuts: {files: [file("lab-validation.csv")], places: {file: places, sampleId: "sample"}}},
  };
  const judged = await run(job, files);

  expect(judged.labSentences.join()).toBe(`${bags.length} samples planned, ${bags.length} with results, 0 unknown ids`);
  const holdOuts = judged.evidence?.holdOuts ?? [];
  expect(holdOuts.length).toBeGreaterThan(0);
  for (const {count, ranked, noiseFloor} of holdOuts) {
    expect([count, ranked]).toEqual([12, true]);
    expect(noiseFloor).toBeGreaterThan(0); // from four pairs
  }

  // One shipment, one report: the same answer.
  const together = {
    ...job,
    lab: {files: [file("all.csv")]},
    compare: {holdOuts: {files: [file("all.csv")], places: {file: places, sampleId: "sample"}}},
  };
  const lines = (name: string): string[] => new TextDecoder().decode(files.get(name)).trimEnd().split("\n");
  const all = [...lines("lab.csv"), ...lines("lab-validation.csv").slice(1)].join("\n");
  const once = await run(together, new Map([...files, ["all.csv", new TextEncoder().encode(all)]]));
  expect(once.labSentences).toEqual(judged.labSentences);
  expect(once.evidence?.holdOuts).toEqual(judged.evidence?.holdOuts);
});
