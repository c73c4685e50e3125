import {appendFileSync, cpSync, existsSync, mkdirSync, readdirSync, readFileSync, writeFileSync} from "node:fs";
import {join} from "node:path";
import {beforeAll, describe, expect, test} from "vitest";
import {cli, contents, type Outcome, scratch, sha256} from "./in-process.ts";
import {layOut, polygonJson, RING, smallJob} from "./small-job.ts";

const JOB = new URL("../../sample-data/kiln-forty/job.json", import.meta.url).pathname;

/** What a full run of three strategies promises. */
const PROMISED = [
  "comparison.csv",
  "comparison.json",
  "plan-grid-cores.geojson",
  "plan-grid-units.geojson",
  "plan-whole-field-cores.geojson",
  "plan-whole-field-units.geojson",
  "plan-zone-cores.geojson",
  "plan-zone-units.geojson",
  "rates-grid.geojson",
  "rates-grid.zip",
  "rates-whole-field.geojson",
  "rates-whole-field.zip",
  "rates-zone.geojson",
  "rates-zone.zip",
  "run.json",
  "zones.geojson",
];

let out: string;
let first: Outcome;

beforeAll(async () => {
  out = join(scratch(), "new", "folder");
  first = await cli("run", JOB, "--out", out);
});

const record = (folder: string) => JSON.parse(readFileSync(join(folder, "run.json"), "utf8"));

describe("a run of the sample field Kiln Forty", () => {
  test("ends well, with the ledger on stdout and the words on stderr", () => {
    expect(first.code, first.stderr).toBe(0);
    expect(first.stdout).toContain("Kiln Forty");
    expect(first.stdout).toMatch(/^Whole field /m);
    expect(first.stdout).not.toContain("files in");
    expect(first.stderr).toContain(`${PROMISED.length} files in ${out}`);
    expect(first.stderr).not.toMatch(/^ {2}error:/m);
  });

  test("writes exactly the files it promises, and leaves no scaffolding beside them", () => {
    expect(Object.keys(contents(out))).toEqual(PROMISED);
    expect(readdirSync(join(out, ".."))).toEqual(["folder"]);
  });

  test("records the SHA-256 and size of every input and output as they are on disk", () => {
    const {inputs, outputs} = record(out);
    expect(Object.keys(outputs).sort()).toEqual(PROMISED.filter((name) => name !== "run.json"));
    for (const [name, digest] of Object.entries(outputs)) {
      const bytes = readFileSync(join(out, name));
      expect(digest, name).toEqual({sha256: sha256(bytes), bytes: bytes.length});
    }
    expect(Object.keys(inputs)).toHaveLength(9);
    for (const [name, digest] of Object.entries(inputs)) {
      const bytes = readFileSync(join(JOB, "..", name));
      expect(digest, name).toEqual({sha256: sha256(bytes), bytes: bytes.length});
    }
  });

  test("proves every rate file by reading it back", () => {
    const {receipts} = record(out);
    // Three strategies, two products, two formats.
    expect(receipts).toHaveLength(12);
    expect(receipts.every(({passed}: {passed: boolean}) => passed)).toBe(true);
  });

  test("gives the same bytes again, elsewhere and with a summary for machines on stdout", async () => {
    const again = join(scratch(), "again");
    const {code, stdout, stderr} = await cli("run", JOB, "--out", again, "--json", "--quiet");
    expect(code, stderr).toBe(0);
    expect(stderr).toBe("");
    expect(contents(again)).toEqual(contents(out));
    const summary = JSON.parse(stdout);
    expect(summary.field).toBe("Kiln Forty");
    expect(summary.zones).toBe(3);
    expect([...summary.files].sort()).toEqual(PROMISED);
  });

  test("gives the same bytes when run over its own results, from a job with a BOM", async () => {
    const folder = scratch();
    cpSync(join(JOB, ".."), folder, {recursive: true});
    writeFileSync(join(folder, "job.json"), `\uFEFF${readFileSync(JOB, "utf8")}`);
    const results = join(folder, "out");
    cpSync(out, results, {recursive: true});
    const {code, stderr} = await cli("run", join(folder, "job.json"), "--out", results, "--quiet");
    expect(code, stderr).toBe(0);
    expect(contents(results)).toEqual(contents(out));
  });
});

describe("a run into a folder that is not empty", () => {
  const plansOnly = (strategies: string[]) => {
    const {lab: _lab, rates: _rates, products: _products, ...job} = smallJob();
    return {...job, strategies};
  };
  const files = {"boundary.geojson": polygonJson([RING])};

  test("takes away what the run before made and this one does not, but nothing else", async () => {
    const folder = scratch();
    const results = join(folder, "out");
    expect((await cli("run", layOut(folder, plansOnly(["whole-field", "grid"]), files), "--out", results)).code).toBe(
      0,
    );
    mkdirSync(join(results, "photos"));
    writeFileSync(join(results, "notes.txt"), "mine");
    writeFileSync(join(results, "rates-grid.zip"), "mine, though its name sounds otherwise");
    // A result that somebody went on working on is no longer ours.
    appendFileSync(join(results, "plan-grid-cores.geojson"), "\n");
    const edited = contents(results)["plan-grid-cores.geojson"];
    expect((await cli("run", layOut(folder, plansOnly(["whole-field"]), files), "--out", results)).code).toBe(0);
    const after = contents(results);
    expect(Object.keys(after)).toEqual([
      "comparison.csv",
      "comparison.json",
      "notes.txt",
      "photos/",
      "plan-grid-cores.geojson",
      "plan-whole-field-cores.geojson",
      "plan-whole-field-units.geojson",
      "rates-grid.zip",
      "run.json",
    ]);
    expect(after["plan-grid-cores.geojson"]).toBe(edited);
    expect(readFileSync(join(results, "notes.txt"), "utf8")).toBe("mine");
  });

  test("another seed moves the cores and nothing that does not hang on chance", async () => {
    const folder = scratch();
    const job = layOut(folder, plansOnly(["whole-field", "grid"]), files);
    const runs = ["7", "7", "-8"].map((seed, i) => ({seed, results: join(folder, `out${i}`)}));
    for (const {results, seed} of runs) {
      expect((await cli("run", job, "--out", results, "--seed", seed)).code).toBe(0);
    }
    const [a, b, c] = runs.map(({results}) => contents(results)) as [
      Record<string, string>,
      Record<string, string>,
      Record<string, string>,
    ];
    expect(b).toEqual(a);
    expect(c["plan-whole-field-cores.geojson"]).not.toBe(a["plan-whole-field-cores.geojson"]);
    expect(c["comparison.csv"]).toBe(a["comparison.csv"]);
    expect(record(join(folder, "out2")).seed).toBe(-8);
  });

  test("a failing run leaves the results of the one before as they were", async () => {
    const folder = scratch();
    const results = join(folder, "out");
    await cli("run", layOut(folder, plansOnly(["grid"]), files), "--out", results);
    const before = contents(results);
    const {code} = await cli("run", layOut(folder, plansOnly(["zone"]), files), "--out", results);
    expect(code).toBe(3);
    expect(contents(results)).toEqual(before);
    expect(Object.keys(before)).toContain("run.json");
    expect(existsSync(join(folder, ".out"))).toBe(false);
  });
});
