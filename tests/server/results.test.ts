import {readdirSync, readFileSync} from "node:fs";
import {join} from "node:path";
import {crc32, inflateSync} from "node:zlib";
import {afterAll, beforeAll, describe, expect, it} from "vitest";
import {openJob} from "../../src/cli/open-job.ts";
import {toPlane} from "../../src/geo/frame.ts";
import {loadGeos} from "../../src/geo/geos.ts";
import {runJob} from "../../src/pipeline/run.ts";
import type {AtPoint, FieldPage, ResultCard, WorkingPage} from "../../src/server/api-types.ts";
import {cli, scratch} from "../hosts/in-process.ts";
import {type Running, SAMPLES, withKilnForty} from "./running.ts";

let one: Running & {page(): Promise<FieldPage>};
let result: ResultCard;
beforeAll(async () => {
  await loadGeos();
  one = await withKilnForty();
  result = await one.run("1");
});
afterAll(() => one.close());

const JOB = join(SAMPLES, "kiln-forty/job.json");
const at = (path: string): string => `/api/results/${result.id}/${path}`;
const bytes = async (path: string): Promise<Uint8Array> => {
  const response = await one.ask(at(path));
  expect(response.status, path).toBe(200);
  return new Uint8Array(await response.arrayBuffer());
};
const same = (a: Uint8Array, b: Uint8Array): boolean => Buffer.from(a).equals(Buffer.from(b));

describe("what the command line would have written", () => {
  it("is served to the byte: every file of the run, and no other", async () => {
    const folder = scratch();
    expect((await cli("run", JOB, "--out", folder, "--quiet")).code).toBe(0);
    const written = readdirSync(folder).sort();
    expect(result.outputs.map(({name}) => name).sort()).toEqual(written);
    for (const name of written) {
      const served = await bytes(`files/${encodeURIComponent(name)}`);
      expect(same(served, readFileSync(join(folder, name))), name).toBe(true);
      expect(result.outputs.find((output) => output.name === name)?.bytes).toBe(served.length);
    }
  });

  it("is served to the byte: both reports on both papers", async () => {
    for (const paper of ["letter", "a4"]) {
      const folder = scratch();
      expect((await cli("report", JOB, "--out", folder, "--paper", paper, "--quiet")).code).toBe(0);
      for (const [kind, file] of [
        ["field", "field-report.html"],
        ["record", "record.html"],
      ]) {
        const served = await bytes(`report?paper=${paper}&kind=${kind}`);
        expect(same(served, readFileSync(join(folder, file as string))), `${paper} ${kind}`).toBe(true);
      }
    }
  });

  it("is the same after layers were kept from a run with another number of zones", async () => {
    const page = await one.page();
    await one.told("PUT", "/api/fields/1/job", {...page.job, zones: {count: 4}});
    const four = await one.run("1", {upTo: "plan"});
    await one.told("PUT", "/api/fields/1/job", {...page.job, farm: page.card.farm});
    expect(four.zones).toHaveLength(4);
    const {job, files} = openJob(JOB);
    const fresh = await runJob({...job, lab: undefined, rates: undefined, zones: {...job.zones, count: 4}}, files, {
      sha256: async () => "",
      progress: () => undefined,
      pause: async () => undefined,
      isCancelled: () => false,
    });
    const served = await one.ask(`/api/results/${four.id}/files/zones.geojson`);
    expect(same(new Uint8Array(await served.arrayBuffer()), fresh.outputs.get("zones.geojson") as Uint8Array)).toBe(
      true,
    );
  });

  it("comes as a download that runs no scripts", async () => {
    const response = await one.ask(at("files/comparison.csv"));
    expect(response.headers.get("content-type")).toContain("text/csv");
    expect(response.headers.get("content-disposition")).toBe("attachment; filename*=UTF-8''comparison.csv");
    const report = await one.ask(at("report"));
    expect(report.headers.get("content-security-policy")).toContain("default-src 'none'");
    expect(report.headers.get("content-security-policy")).toContain("sandbox");
  });
});

describe("shapes", () => {
  it("are served by every name of the card", async () => {
    for (const name of result.shapes) {
      const {type, features} = JSON.parse(Buffer.from(await bytes(`shapes/${encodeURIComponent(name)}`)).toString());
      expect(type, name).toBe("FeatureCollection");
      expect(features.length, name).toBeGreaterThan(0);
    }
    expect((await one.ask(at("shapes/tractors"))).status).toBe(404);
  });

  it("of a difference add up to the field, and to the pounds the card says", async () => {
    const [difference] = result.evidence?.differences ?? [];
    const {features} = JSON.parse(Buffer.from(await bytes(`shapes/${difference?.shapes}`)).toString());
    const sum = (of: (p: Record<string, number>) => number): number =>
      features.reduce((total: number, {properties}: {properties: Record<string, number>}) => total + of(properties), 0);
    expect(sum(({acres = 0}) => acres)).toBeCloseTo(result.comparison.acres, 1);
    expect(sum(({acres = 0, differenceLbPerAcre = 0}) => acres * differenceLbPerAcre)).toBeCloseTo(
      difference?.netLb ?? Number.NaN,
      -1,
    );
  });
});

describe("a layer as a picture", () => {
  it("is a PNG that zlib and its checksums agree with, a pixel a cell, clear outside the field", async () => {
    const {width, height, rgba} = readPng(await bytes("layers/yield-mean.png?ramp=blue"));
    const field = result.box;
    // 5 m cells over a field of some 400 m by 410 m.
    expect([width, height]).toEqual([82, 82]);
    const alphas = new Set<number>();
    for (let i = 3; i < rgba.length; i += 4) alphas.add(rgba[i] as number);
    expect([...alphas].sort()).toEqual([0, 255]);
    const clear = rgba.filter((value, i) => i % 4 === 3 && value === 0).length;
    expect(1 - clear / (width * height)).toBeGreaterThan(0.8);
    expect(field[2] - field[0]).toBeGreaterThan(0.004);
  });

  it("lies where its corners say: north-west, north-east, south-east, south-west", async () => {
    const response = await one.ask(at("layers/slope.png?ramp=grey"));
    const numbers = (response.headers.get("x-corners") ?? "").split(",").map(Number);
    const corners = [0, 2, 4, 6].map((i) => [numbers[i], numbers[i + 1]] as [number, number]);
    const run = JSON.parse(Buffer.from(await bytes("files/run.json")).toString());
    const [nw, ne, se, sw] = corners.map((corner) => toPlane(run.field.frame, corner)) as {x: number; y: number}[];
    expect((ne?.x ?? 0) - (nw?.x ?? 0)).toBeCloseTo(82 * 5, 2);
    expect((nw?.y ?? 0) - (sw?.y ?? 0)).toBeCloseTo(82 * 5, 2);
    expect((nw?.x ?? 0) % 5).toBeCloseTo(0, 2);
    expect(se?.x).toBeCloseTo(ne?.x ?? Number.NaN, 3);
  });

  it("is drawn in one hue whose ends are the layer's least and most", async () => {
    const {rgba} = readPng(await bytes("layers/yield-mean.png?ramp=blue"));
    const colours = new Set<string>();
    for (let i = 0; i < rgba.length; i += 4)
      if (rgba[i + 3]) colours.add(Buffer.from(rgba.slice(i, i + 3)).toString("hex"));
    expect(colours).toContain("eef2f4");
    expect(colours).toContain("123c5e");
    expect(colours.size).toBeLessThanOrEqual(256);
  });

  it("takes every ramp, and refuses another and another layer", async () => {
    for (const {id} of result.layers) {
      for (const ramp of ["blue", "ochre", "grey", "diverging"]) readPng(await bytes(`layers/${id}.png?ramp=${ramp}`));
    }
    expect((await one.ask(at("layers/slope.png?ramp=rainbow"))).status).toBe(400);
    expect((await one.ask(at("layers/none.png"))).status).toBe(404);
  });
});

describe("why and where", () => {
  it("explains the rate of a unit from its test to the machine", async () => {
    const page = await one.json<WorkingPage>(at("working/grid/KFG01"));
    const [phosphate] = page.rates;
    expect(page.label).toBe("cell A1");
    expect(phosphate?.test).toMatchObject({value: 28, unit: "ppm"});
    // 195 bu corn at 0.35 and 58 bu soybean at 0.79 lb P2O5 a bushel, from the working itself: 114.07 lb; MAP holds 52 %.
    expect(phosphate?.rateLbPerAcre).toBeCloseTo(195 * 0.35 + 58 * 0.79, 6);
    expect(phosphate?.products[0]?.exactLbPerAcre).toBeCloseTo(114.07 / 0.52, 6);
    expect(phosphate?.products[0]?.rateLbPerAcre).toBe(220);
  });

  it("explains the one rate of a pooled plan under any of its bags", async () => {
    const whole = await one.json<WorkingPage>(at("working/whole-field/KFW01"));
    expect(whole.rates.map(({unit}) => unit)).toEqual(["whole field", "whole field"]);
    expect(whole.rates[0]?.products).toHaveLength(1);
    expect((await one.ask(at("working/grid/XX99"))).status).toBe(404);
    expect((await one.ask(at("working/tractor/KFG01"))).status).toBe(404);
  });

  it("tells what lies at a point as the layers and shapes have it", async () => {
    const [lon, lat] = [-86.387, 40.5585];
    const point = await one.json<AtPoint>(at(`at?lon=${lon}&lat=${lat}`));
    expect(point.inside).toBe(true);
    expect(point.layers.map(({id}) => id)).toEqual(result.layers.map(({id}) => id));
    for (const layer of result.layers) {
      const value = point.layers.find(({id}) => id === layer.id)?.value;
      if (layer.classes) expect(layer.classes).toContain(value);
      else {
        expect(value).toBeGreaterThanOrEqual(layer.least);
        expect(value).toBeLessThanOrEqual(layer.most);
      }
    }
    expect(point.units.map(({strategy}) => strategy)).toEqual(["whole-field", "grid", "zone"]);
    const grid = point.units[1];
    const {features} = JSON.parse(Buffer.from(await bytes("shapes/rates-grid")).toString());
    const unit = features.find(({properties}: {properties: {UNIT: string}}) => properties.UNIT === grid?.unit);
    expect(grid?.rates.find(({code}) => code === "MAP")?.lbPerAcre).toBe(unit.properties.MAP_LBAC);
  });

  it("tells that nothing is known outside, and refuses what is no place", async () => {
    const far = await one.json<AtPoint>(at("at?lon=10&lat=50"));
    expect(far).toMatchObject({inside: false, layers: [], units: []});
    for (const query of ["lon=x&lat=40", "lon=-86", "lon=-86&lat=91"]) {
      expect((await one.ask(at(`at?${query}`))).status, query).toBe(400);
    }
  });
});

describe("a result that is no longer at hand", () => {
  it("is made again from the job and files it was made from", async () => {
    const other = await withKilnForty({thread: new URL("./forgetful-thread.ts", import.meta.url)});
    try {
      const first = await other.run("1", {evidence: false});
      const page = await other.page();
      await other.told("PUT", "/api/fields/1/job", {...page.job, zones: {count: 2}});
      await other.run("1", {upTo: "plan"});
      const shapes = await other.ask(`/api/results/${first.id}/shapes/zones`);
      expect(await shapes.text()).toBe(Buffer.from(await bytes("shapes/zones")).toString());
    } finally {
      await other.close();
    }
  });
});

/** By the standard's rules and Node's own zlib: signature, checksums, filter bytes. */
function readPng(png: Uint8Array): {width: number; height: number; rgba: Uint8Array} {
  const view = new DataView(png.buffer, png.byteOffset, png.byteLength);
  expect(Buffer.from(png.subarray(0, 8)).toString("latin1")).toBe("\u0089PNG\r\n\u001a\n");
  const chunks = new Map<string, Uint8Array>();
  for (let at = 8; at < png.length; ) {
    const length = view.getUint32(at);
    const type = Buffer.from(png.subarray(at + 4, at + 8)).toString("latin1");
    expect(view.getUint32(at + 8 + length)).toBe(crc32(png.subarray(at + 4, at + 8 + length)));
    chunks.set(type, png.subarray(at + 8, at + 8 + length));
    at += length + 12;
  }
  expect([...chunks.keys()]).toEqual(["IHDR", "IDAT", "IEND"]);
  const header = chunks.get("IHDR") as Uint8Array;
  const [width, height] = [0, 4].map((at) => new DataView(header.buffer, header.byteOffset).getUint32(at)) as [
    number,
    number,
  ];
  expect([...header.subarray(8)]).toEqual([8, 6, 0, 0, 0]);
  const rows = inflateSync(chunks.get("IDAT") as Uint8Array);
  expect(rows.length).toBe(height * (width * 4 + 1));
  const rgba = new Uint8Array(width * height * 4);
  for (let row = 0; row < height; row++) {
    expect(rows[row * (width * 4 + 1)]).toBe(0);
    rgba.set(rows.subarray(row * (width * 4 + 1) + 1, (row + 1) * (width * 4 + 1)), row * width * 4);
  }
  return {width, height, rgba};
}
