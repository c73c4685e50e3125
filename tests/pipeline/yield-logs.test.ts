import {readFileSync} from "node:fs";
import {beforeAll, describe, expect, it} from "vitest";
import {type FieldError, isFieldError} from "../../src/errors.ts";
import {readTable} from "../../src/formats/read-table.ts";
import {encodeUtf8} from "../../src/formats/text.ts";
import {loadGeos} from "../../src/geo/geos.ts";
import {YIELD_REASONS} from "../../src/layers/yield-reasons.ts";
import {filesOf} from "../../src/pipeline/files-of.ts";
import type {Host} from "../../src/pipeline/host.ts";
import type {Job} from "../../src/pipeline/job.ts";
import {type FieldLayers, makeLayers} from "../../src/pipeline/make-layers.ts";
import type {Remarks} from "../../src/pipeline/read-inputs.ts";
import {readField} from "../../src/pipeline/read-inputs.ts";
import {readJob} from "../../src/pipeline/read-job.ts";
import {readYield} from "../../src/pipeline/read-yield.ts";

beforeAll(loadGeos);

const folder = new URL("../../sample-data/kiln-forty/", import.meta.url);
const text = readFileSync(new URL("job.json", folder), "utf8");
const files = new Map(
  filesOf(readJob(text, "job.json")).map((name) => [name, new Uint8Array(readFileSync(new URL(name, folder)))]),
);
const host: Host = {sha256: async () => "", progress: () => {}, pause: async () => {}, isCancelled: () => false};

// biome-ignore lint/suspicious/noExplicitAny: a job as a person wrote it
function jobWith(change: (layers: any) => void): Job {
  const job = JSON.parse(text);
  const {yield: logs, cellSize} = job.layers;
  job.layers = {cellSize, yield: logs}; // the yield logs alone
  change(job.layers);
  return readJob(JSON.stringify(job), "job.json");
}
async function layersOf(job: Job): Promise<{layers: FieldLayers; remarks: Remarks}> {
  const remarks: Remarks = [];
  const field = await readField(job, files, []);
  return {layers: await makeLayers(job, field, files, host, remarks), remarks};
}

describe("a yield log whose columns are not named in the job", () => {
  it("gives the same layers as one whose are, and says what was taken", async () => {
    const named = await layersOf(jobWith(() => {}));
    const told = await layersOf(
      jobWith((layers) => {
        for (const log of layers.yield) log.columns = undefined;
      }),
    );
    expect(told.layers.seasons).toHaveLength(3);
    told.layers.seasons.forEach(({layer}, i) => {
      expect(layer.values).toEqual(named.layers.seasons[i]?.layer.values);
    });
    const said = told.remarks.filter(({code}) => code === "yield/columns-by-heading");
    expect(said).toHaveLength(3);
    expect(said[0]?.message).toContain('grain flow from "Flow (lb/s)" in lb/s');
  });

  it("is refused with what to paste when a unit is not told", async () => {
    const job = jobWith((layers) => {
      layers.yield = [{file: "log.csv", crop: "corn", season: 2024}];
    });
    const log = encodeUtf8("lon,lat,flow,distance_ft,swath_ft\n-86.4,40.5,12,6,30\n-86.4,40.5001,12,6,30\n");
    const field = await readField(job, files, []);
    const refusal = await readYield(field, new Map([["log.csv", log]]), job.layers.yield[0] as never, []).catch(
      (error: unknown) => error,
    );
    expect(isFieldError(refusal)).toBe(true);
    const {code, message, hint, issues, place} = refusal as FieldError;
    expect(code).toBe("yield/columns-unclear");
    expect(message).toBe('Column "flow" (grain flow) names no unit.');
    expect(place).toEqual({file: "log.csv"});
    expect(hint).toContain('"flow": { "column": "flow", "unit": "lb/s | kg/s | t/h" }');
    expect(issues[0]?.message).toContain("Choices: lb/s, kg/s, t/h.");
    // What is pasted is JSON, and names everything else.
    const pasted = JSON.parse(`{${/"columns": \{.*\}/.exec(hint ?? "")?.[0]}}`);
    expect(pasted.columns.distance).toEqual({column: "distance_ft", unit: "ft"});
  });
});

describe("a log of mass, machines by name and no width", () => {
  it("is read with the header's width and the weighed grain from the job", async () => {
    const job = jobWith((layers) => {
      layers.yield = [{file: "log.csv", crop: "corn", season: 2024, headerWidth: "30 ft", weighed: "1000 lb"}];
    });
    const rows = ["lon,lat,mass_lb,distance_ft,interval_s,machine"];
    for (let i = 0; i < 60; i++) rows.push(`-86.4,${(40.5 + i * 2e-5).toFixed(6)},8,7.28,1,${i < 30 ? "red" : "blue"}`);
    const log = encodeUtf8(`${rows.join("\n")}\n`);
    const field = await readField(job, files, []);
    const [season] = await readYield(field, new Map([["log.csv", log]]), job.layers.yield[0] as never, []);
    expect(season?.log.massKg?.[0]).toBeCloseTo(8 * 0.45359237, 12);
    expect([season?.log.machine?.[0], season?.log.machine?.[59]]).toEqual([2, 1]); // in order of their names
    expect(job.layers.yield[0]).toMatchObject({headerWidth: 30 * 0.3048, weighed: 1000 * 0.45359237});
  });
});

describe("the records of a cleaning", () => {
  it("are written with positions, yield, code and words when the job asks", async () => {
    const {layers} = await layersOf(
      jobWith((own) => {
        own.yield = own.yield.slice(0, 2);
        own.yield[0].cleanedPoints = true;
      }),
    );
    const [first] = layers.seasons;
    if (!first) throw new Error("no season");
    const {cleaned} = first;
    expect([...layers.outputs.keys()]).toEqual(["points-yield-2023-corn.csv", "points-yield-2023-corn.geojson"]);
    const csv = layers.outputs.get("points-yield-2023-corn.csv") as Uint8Array;
    const {header, rows} = readTable(csv, "points.csv").value;
    expect(header).toContain("Yield (bu/ac)");
    expect(rows).toHaveLength(cleaned.reason.length);
    const at = (name: string): number => header.indexOf(name);
    for (const reason of YIELD_REASONS) {
      expect(rows.filter((row) => row[at("Reason")] === reason)).toHaveLength(cleaned.counts[reason]);
    }
    const kept = rows.filter((row) => row[at("Reason code")] === "0");
    const mean = kept.reduce((sum, row) => sum + Number(row[at("Yield (bu/ac)")]), 0) / kept.length;
    // 1 bu/ac of corn is 0.06276766469 t/ha; yields are written to a hundredth.
    expect(Math.abs(mean * 0.06276766469 - cleaned.after.mean)).toBeLessThan(0.001);
    // Grain was weighed the delay after it was cut, one record a second.
    const row = kept[Math.floor(kept.length / 2)] as readonly string[];
    const later = Number(row[at("Weighed at record")]) - Number(row[at("Record")]);
    expect(Math.abs(later - cleaned.delay.appliedS)).toBeLessThanOrEqual(2);
    const weighed = rows[Number(row[at("Weighed at record")]) - 1] as readonly string[];
    expect(row[at("Weighed longitude")]).toBe(weighed[at("Longitude")]);

    const json = JSON.parse(
      new TextDecoder().decode(layers.outputs.get("points-yield-2023-corn.geojson") as Uint8Array),
    );
    expect(json.features).toHaveLength(rows.filter((r) => r[at("Longitude")] !== "").length);
    expect(json.loamwright).toMatchObject({yieldUnit: "bu/ac", poundsPerBushel: 56, counts: cleaned.counts});
    expect(json.features[0].properties).toMatchObject({Record: 1, "In words": expect.any(String)});
  });

  it("are not written unasked", async () => {
    const {layers} = await layersOf(jobWith(() => {}));
    expect(layers.outputs.size).toBe(0);
  });

  it("stand in the steps of the run as counts, statistics and the curve of the delay", async () => {
    const {layers} = await layersOf(jobWith(() => {}));
    const found = (layers.steps[0]?.found ?? {}) as {delay?: {curve: unknown[]}};
    const cleaned = layers.seasons[0]?.cleaned;
    expect(found).toMatchObject({
      records: cleaned?.reason.length,
      counts: cleaned?.counts,
      after: {count: cleaned?.counts.kept},
      delay: {appliedS: cleaned?.delay.appliedS},
    });
    expect(found.delay?.curve).toHaveLength(41);
    expect(JSON.stringify(found).length).toBeLessThan(4000);
  });
});

describe("two logs of one season", () => {
  it("make one season, near the one a single log of both would make", async () => {
    const name = "yield-2023-corn.csv";
    const [head = "", ...rows] = new TextDecoder().decode(files.get(name)).trim().split(/\r?\n/);
    const half = Math.floor(rows.length / 2);
    const write = (part: readonly string[]) => encodeUtf8(`${[head, ...part].join("\n")}\n`);
    const two = new Map<string, Uint8Array>(files)
      .set("a.csv", write(rows.slice(0, half)))
      .set("b.csv", write(rows.slice(half)));
    const job = jobWith((own) => {
      const [first, ...others] = own.yield;
      own.yield = [{...first, file: "a.csv"}, {...first, file: "b.csv"}, ...others];
    });
    const remarks: Remarks = [];
    const split = await makeLayers(job, await readField(job, files, []), two, host, remarks);
    const whole = (await layersOf(jobWith(() => {}))).layers;
    expect(remarks.find(({code}) => code === "yield/logs-merged")?.message).toBe(
      "The 2 logs of 2023 were put together into one season.",
    );
    expect(split.features[0]?.layer.madeFrom.inputs).toHaveLength(3);
    const [ours, theirs] = [split.features[0]?.layer.values, whole.features[0]?.layer.values];
    const misses = Float64Array.from(ours ?? [], (v, i) => Math.abs(v - (theirs?.[i] as number))).filter((d) => d >= 0);
    expect(misses.length).toBeGreaterThan(5000);
    // Percent of mean; at the seam a pass is trimmed and an overlap goes unseen.
    expect(misses.reduce((a, b) => a + b, 0) / misses.length).toBeLessThan(0.5);
  });
});

describe("stability over the seasons", () => {
  it("and their spread become layers for zones when the job asks", async () => {
    const plain = await layersOf(jobWith(() => {}));
    expect(plain.layers.features.map(({layer}) => layer.id)).toEqual(["yield-mean"]);
    const {layers} = await layersOf(
      jobWith((own) => {
        own.seasons = {spread: true, stability: true, unstableAbove: "median + MAD"};
      }),
    );
    expect(layers.features.map(({layer, theme}) => [layer.id, theme])).toEqual([
      ["yield-mean", "yield"],
      ["yield-spread", "yield"],
      ["yield-stability", "yield"],
    ]);
    const classes = new Set(layers.features[2]?.layer.values.filter((value) => !Number.isNaN(value)));
    expect([...classes].sort()).toEqual([0, 1, 2]);
  });

  it("can rest on z-scores", async () => {
    const {layers} = await layersOf(
      jobWith((own) => {
        own.seasons = {scale: "z-score"};
      }),
    );
    expect(layers.features[0]?.layer.unit).toBe("sd");
  });
});
