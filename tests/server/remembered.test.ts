import {createHash} from "node:crypto";
import {beforeAll, describe, expect, it} from "vitest";
import {loadGeos} from "../../src/geo/geos.ts";
import type {Host} from "../../src/pipeline/host.ts";
import {makeLayers} from "../../src/pipeline/make-layers.ts";
import {type Remarks, readField} from "../../src/pipeline/read-inputs.ts";
import {readJob} from "../../src/pipeline/read-job.ts";
import {bytesIn} from "../../src/server/bytes-in.ts";
import type {LooseJob} from "../hosts/small-job.ts";
import {kilnForty} from "./running.ts";

beforeAll(loadGeos);

type Files = Map<string, Uint8Array>;

const {text, files} = kilnForty();

/** The layers of a job with their remarks, and the steps that were told on the way. */
async function layersOf(job: unknown, given: Files, memory?: Map<string, unknown>) {
  const steps: string[] = [];
  const host: Host = {
    sha256: async (bytes) => createHash("sha256").update(bytes).digest("hex"),
    progress: (step) => steps.push(step),
    pause: async () => undefined,
    isCancelled: () => false,
    ...(memory && {memory}),
  };
  const remarks: Remarks = [];
  const parsed = readJob(JSON.stringify(job), "job.json");
  const made = await makeLayers(parsed, await readField(parsed, given, remarks), given, host, remarks);
  return {made, remarks, steps};
}

const edited = (change: (job: LooseJob) => void): unknown => {
  const job = JSON.parse(text);
  change(job);
  return job;
};

describe("layers kept from an earlier run", () => {
  it("are the very same, with the same remarks, when nothing they rest on has changed", async () => {
    const memory = new Map<string, unknown>();
    const first = await layersOf(JSON.parse(text), files, memory);
    const other = edited((job) => {
      job.zones = {count: 7};
      job.products = [];
    });
    const again = await layersOf(other, files, memory);
    expect(again.steps).toEqual([]);
    expect(again.made.features.map(({layer}) => layer)).toEqual(first.made.features.map(({layer}) => layer));
    expect(again.made.features.every(({layer}, i) => layer === first.made.features[i]?.layer)).toBe(true);
    expect(again.remarks).toEqual(first.remarks);
    expect(first.remarks.length).toBeGreaterThan(0);
  });

  it("are made anew in the parts that a change touches, and are then what a fresh run makes", async () => {
    const memory = new Map<string, unknown>();
    await layersOf(JSON.parse(text), files, memory);
    const withLine = (name: string, line: string): Files =>
      new Map(files).set(name, new Uint8Array(Buffer.concat([files.get(name) as Uint8Array, Buffer.from(line)])));
    const changes: {what: string; job?: unknown; files?: Files; madeAgain: RegExp}[] = [
      {
        what: "the delay of one log",
        job: edited(({layers}) => {
          layers.yield[0].delay = "11 s";
        }),
        madeAgain: /^(reading yield|cleaning)/,
      },
      {
        what: "a line more in a log",
        files: withLine("yield-2023-corn.csv", "-86.3870,40.5585,99999,40,5,1,30,15,5,9,down\n"),
        madeAgain: /^(reading yield|cleaning)/,
      },
      {what: "a blank after the soil map", files: withLine("soil.geojson", " "), madeAgain: /^reading soil/},
      {
        what: "the smoothing of heights",
        job: edited(({layers}) => Object.assign(layers.elevation, {smooth: "9 m"})),
        madeAgain: /^(reading elevation|slope)/,
      },
      {
        what: "the cells",
        job: edited(({layers}) => Object.assign(layers, {cellSize: "8 m"})),
        madeAgain: /./,
      },
    ];
    for (const {what, job = JSON.parse(text), files: given = files, madeAgain} of changes) {
      const kept = await layersOf(job, given, memory);
      const fresh = await layersOf(job, given);
      expect(kept.made, what).toEqual(fresh.made);
      expect(kept.remarks, what).toEqual(fresh.remarks);
      expect(kept.steps, what).toEqual(fresh.steps.filter((step) => madeAgain.test(step)));
    }
  });
});

describe("how much memory plain data takes", () => {
  it("is what its arrays hold, each counted once", () => {
    const values = new Float64Array(1000);
    const one = bytesIn({values});
    expect(one).toBeGreaterThanOrEqual(8000);
    expect(one).toBeLessThan(8100);
    expect(bytesIn({a: values, b: [values, new Map([["c", values]])]})).toBeLessThan(8200);
    expect(bytesIn("é".repeat(50))).toBe(108);
  });

  it("ends on data that holds itself", () => {
    const loop: {self?: unknown} = {};
    loop.self = loop;
    expect(bytesIn(loop)).toBeLessThan(100);
  });
});
