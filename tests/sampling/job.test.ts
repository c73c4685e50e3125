import {readFileSync} from "node:fs";
import {beforeAll, describe, expect, it} from "vitest";
import {loadFiles} from "../../src/cli/load-files.ts";
import {nodeHost} from "../../src/cli/node-host.ts";
import type {FileSet} from "../../src/formats/file-set.ts";
import {contains, distanceM} from "../../src/geo/measure.ts";
import type {MultiPolygon} from "../../src/geo/shapes.ts";
import {filesOf} from "../../src/pipeline/files-of.ts";
import {readJob} from "../../src/pipeline/read-job.ts";
import {type RunResult, runJob} from "../../src/pipeline/run.ts";

const folder = new URL("../../sample-data/kiln-forty/", import.meta.url).pathname;
const original = JSON.parse(readFileSync(`${folder}job.json`, "utf8"));

/** The sample farm's small field, boundary and soil map only, with other sampling settings. */
function jobWith(sampling: Record<string, unknown>, more: Record<string, unknown> = {}) {
  const {layers, lab: _lab, rates: _rates, ...rest} = original;
  const job = {...rest, layers: {soilMap: layers.soilMap}, sampling, ...more};
  return readJob(JSON.stringify(job), "job.json");
}

async function run(sampling: Record<string, unknown>, more: Record<string, unknown> = {}, extra: FileSet = new Map()) {
  const job = jobWith(sampling, more);
  const names = filesOf(job).filter((name) => !extra.has(name));
  const host = nodeHost(true);
  try {
    return await runJob(job, new Map([...loadFiles(folder, names).files, ...extra]), host);
  } finally {
    host.done();
  }
}

const planOf = (result: RunResult, strategy: string) =>
  result.strategies.find(({plan}) => plan.strategy === strategy)?.plan ?? expect.fail(`no ${strategy} plan`);
const json = (result: RunResult, name: string) =>
  JSON.parse(new TextDecoder().decode(result.outputs.get(name) ?? expect.fail(`no ${name}`)));

describe("a job with every setting of sampling", () => {
  let result: RunResult;
  beforeAll(async () => {
    result = await run({
      coreCvPct: 30,
      coreCvSource: "8 second bags of 2024",
      keepOuts: [
        {
          file: "landmarks.geojson",
          only: [{column: "kind", is: "well"}],
          name: "well",
          distance: "60 ft",
          cross: false,
        },
      ],
      gate: {file: "landmarks.geojson", only: [{column: "kind", is: "gate"}]},
      route: {rows: 0},
      checkCharacter: true,
      grid: {cellArea: "2.5 ac", layout: "unaligned", duplicates: 3},
      zone: {piecesApart: true, placement: "line"},
      validation: {count: 10},
      budget: {dollars: "250 $", bags: 20, labour: 40, pace: {secondsPerCore: 12}},
    });
  });

  it("starts and ends the route at the gate and writes it", () => {
    const {route} = planOf(result, "grid");
    const [gate] = JSON.parse(readFileSync(`${folder}landmarks.geojson`, "utf8")).features.filter(
      (f: {properties: {kind: string}}) => f.properties.kind === "gate",
    );
    const {features} = json(result, "plan-grid-route.geojson");
    const line = features[0].geometry.coordinates;
    for (const end of [line[0], line.at(-1)]) {
      expect(end[0]).toBeCloseTo(gate.geometry.coordinates[0], 8);
      expect(end[1]).toBeCloseTo(gate.geometry.coordinates[1], 8);
    }
    expect(line).toHaveLength(route?.line.length ?? 0);
  });

  it("keeps cores from the well, and says the room each unit has", () => {
    const well = planOf(result, "grid").madeFrom.options.keepOut as MultiPolygon;
    for (const {plan} of result.strategies) {
      for (const {x, y} of plan.units.flatMap(({cores}) => cores)) expect(contains(well, x, y)).toBe(false);
    }
    for (const {properties} of json(result, "plan-grid-units.geojson").features) {
      expect(properties.room_ac).toBeLessThan(properties.acres);
      expect(properties.kept_out_ac).toBeGreaterThanOrEqual(0);
    }
  });

  it("writes second bags with the unit they belong to, and validation bags apart", () => {
    const twice = new Map<string, string>();
    for (const {properties} of json(result, "plan-grid-cores.geojson").features) {
      if (properties.duplicate_of) twice.set(properties.sample, properties.duplicate_of);
    }
    expect(twice.size).toBe(3);
    const own = new Set(
      json(result, "plan-validation-cores.geojson").features.map(
        ({properties}: never) => (properties as {sample: string}).sample,
      ),
    );
    expect(own.size).toBe(10);
    for (const id of own) expect(id).toMatch(/^KFV\d\d[0-9A-HJ-NP-Z]$/);
  });

  it("writes one place for each validation bag, to be read again as places of hold-outs", () => {
    const {features} = json(result, "plan-validation-places.geojson");
    expect(features).toHaveLength(10);
    expect(features[0].properties).toEqual({sample: expect.stringMatching(/^KFV01/), cores: 8, depth_in: 8});
  });

  it("says the error to expect with the source of the spread", () => {
    const said = result.issues.find(({code}) => code === "sampling/expected-error")?.message;
    expect(said).toContain("vary by 30 % (coefficient of variation, 8 second bags of 2024)");
  });

  it("prices plans within dollars and bags", () => {
    const [header, ...rows] = new TextDecoder().decode(result.outputs.get("plan-budget.csv")).trim().split(/\r?\n/);
    expect(header).toContain("dollars_per_ac_year");
    const fitting = rows.filter((row) => row.split(",")[9] === "yes");
    expect(fitting.length).toBeGreaterThan(0);
    for (const row of fitting) {
      expect(Number(row.split(",")[2])).toBeLessThanOrEqual(20);
      expect(Number(row.split(",")[6])).toBeLessThanOrEqual(250);
    }
  });
});

describe("a plan repeated from its own files", () => {
  it("has the same ids at the same places two cycles on, to a millimetre", async () => {
    const first = await run({grid: {cellArea: "5 ac"}}, {strategies: ["grid"], seed: 5});
    const files = new Map(
      ["units", "cores"].map((what) => [
        `last-${what}.geojson`,
        first.outputs.get(`plan-grid-${what}.geojson`) as Uint8Array,
      ]),
    );
    const again = await run(
      {grid: {repeat: {units: "last-units.geojson", cores: "last-cores.geojson"}}},
      {strategies: ["grid"], seed: 77},
      files,
    );
    const [before, now] = [planOf(first, "grid"), planOf(again, "grid")];
    expect(now.units.map(({id, label}) => `${id} ${label}`)).toEqual(
      before.units.map(({id, label}) => `${id} ${label}`),
    );
    now.units.forEach(({cores}, i) => {
      cores.forEach((core, k) => {
        expect(distanceM(core, before.units[i]?.cores[k] ?? {x: 0, y: 0})).toBeLessThan(0.001);
      });
    });
  });
});

describe("own points", () => {
  it("take the place of the grid", async () => {
    const {boundary} = original.field;
    const [lon, lat] = [-86.3872, 40.5587];
    const points = {
      type: "FeatureCollection",
      features: [
        [lon, lat, "clay pit"],
        [lon + 0.001, lat, "yard"],
        [lon, lat - 0.001, "low"],
      ].map(([x, y, name]) => ({type: "Feature", properties: {name}, geometry: {type: "Point", coordinates: [x, y]}})),
    };
    expect(boundary).toBeDefined();
    const result = await run(
      {grid: {points: {file: "spots.geojson", name: "name"}}},
      {strategies: ["grid"]},
      new Map([["spots.geojson", new TextEncoder().encode(JSON.stringify(points))]]),
    );
    const plan = planOf(result, "grid");
    expect(plan.units.map(({label}) => label).sort()).toEqual(["point clay pit", "point low", "point yard"]);
    expect(plan.units.reduce((sum, {area}) => sum + area, 0) / result.field.area).toBeCloseTo(1, 5);
  });
});

describe("what cannot be read", () => {
  it.each([
    [{keepOuts: [{file: "landmarks.geojson"}]}, "sampling/keep-out"],
    [
      {keepOuts: [{file: "landmarks.geojson", kind: "waterway", only: [{column: "kind", is: "moat"}]}]},
      "sampling/keep-out",
    ],
    [{gate: {file: "landmarks.geojson"}}, "sampling/gate"],
    [{grid: {points: {file: "boundary.geojson"}}}, "sampling/points"],
    [{grid: {repeat: {units: "boundary.geojson", cores: "landmarks.geojson"}}}, "sampling/repeat"],
    [{budget: {pace: {}}}, "sampling/budget"],
  ])("%j is refused with a code", async (sampling, code) => {
    await expect(run(sampling, {strategies: ["grid"]})).rejects.toThrow(expect.objectContaining({code}));
  });

  it("amounts without a dollar sign are refused in the job", () => {
    expect(() => jobWith({budget: {dollars: "800"}})).toThrow(expect.objectContaining({code: "job/not-valid"}));
  });
});
