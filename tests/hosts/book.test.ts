import {cpSync, existsSync, readdirSync, readFileSync, rmSync, writeFileSync} from "node:fs";
import {join} from "node:path";
import {fileURLToPath} from "node:url";
import {beforeAll, describe, expect, test} from "vitest";
import {cli, contents, type Outcome, scratch} from "./in-process.ts";

const SAMPLES = fileURLToPath(new URL("../../sample-data/", import.meta.url));

let folder: string;
let book: string;
let out: string;
let ran: Outcome;
beforeAll(async () => {
  folder = scratch();
  book = join(folder, "sedgewater.gpkg");
  out = join(folder, "results");
  cpSync(join(SAMPLES, "kiln-forty"), join(folder, "kiln-forty"), {recursive: true});
  await cli("book", "create", book, "--by", "Ada");
  ran = await cli("run", join(folder, "kiln-forty", "job.json"), "--out", out, "--book", book);
});

describe("run --book", () => {
  test("writes its folder as ever, keeps the run, and says which version it is", () => {
    expect(ran.code, ran.stderr).toBe(0);
    expect(ran.stderr).toContain(`version 1 in ${book}`);
    expect(existsSync(join(out, "run.json"))).toBe(true);
    expect(readdirSync(folder).filter((name) => name.startsWith("sedgewater"))).toEqual(["sedgewater.gpkg"]);
  });

  test("refuses a book that is not there before it works for long", async () => {
    const none = join(folder, "none");
    const {code, stderr} = await cli(
      "run",
      join(folder, "kiln-forty", "job.json"),
      "--out",
      none,
      "--book",
      join(folder, "no.gpkg"),
    );
    expect(code).toBe(3);
    expect(stderr).toMatch(/There is no book .*no\.gpkg/);
    expect(stderr).toContain("loamwright book create");
    expect(existsSync(none)).toBe(false);
  });
});

describe("the book commands", () => {
  test("export gives files and results as they were put in, and the job runs from there to the same bytes", async () => {
    const taken = join(folder, "taken");
    const {code, stderr} = await cli("book", "export", book, "kiln forty", "--out", taken);
    expect(code, stderr).toBe(0);
    expect(contents(join(taken, "results"))).toEqual(contents(out));
    const sources = contents(join(taken, "sources"));
    const given = contents(join(folder, "kiln-forty"));
    for (const [name, digest] of Object.entries(sources)) expect(digest, name).toBe(given[name]);
    expect(Object.keys(sources)).toHaveLength(10);
    const again = join(folder, "again");
    expect((await cli("run", join(taken, "sources", "job.json"), "--out", again, "--quiet")).code).toBe(0);
    expect(contents(again)).toEqual(contents(out));
    const refused = await cli("book", "export", book, "Kiln Forty", "--out", taken);
    expect(refused.code).toBe(3);
    expect(refused.stderr).toContain("is not empty");
  });

  test("import takes a folder of jobs, those that are good; list shows them and what is stale", async () => {
    const farm = join(folder, "farm");
    cpSync(join(SAMPLES, "kiln-forty"), join(farm, "kiln-forty"), {recursive: true});
    cpSync(join(SAMPLES, "millrace"), join(farm, "millrace"), {recursive: true});
    cpSync(join(SAMPLES, "millrace"), join(farm, "broken"), {recursive: true});
    rmSync(join(farm, "broken", "soil.geojson"));
    writeFileSync(join(farm, "package.json"), '{"field": 3}');
    const lab = join(farm, "kiln-forty", "lab-grid.csv");
    writeFileSync(lab, `${readFileSync(lab, "utf8").trimEnd()}\n`);
    writeFileSync(lab, readFileSync(lab, "utf8").replace(/\d(\r?\n)$/, "9$1"));
    const {code, stdout, stderr} = await cli("book", "import", book, farm);
    expect(code).toBe(3);
    expect(stderr).toMatch(/broken.*job\.json:\nThere is no file soil\.geojson/);
    expect(stderr).toContain("1 of 3 jobs were not taken");
    expect(stdout).toContain("Kiln Forty: lab-grid.csv (version 2)");
    expect(stdout).toContain("Millrace: job.json, boundary.geojson");
    const listed = await cli("book", "list", book);
    expect(listed.stdout).toMatch(
      /^Kiln Forty\s+38\.0\s+10\s+1 of 1\s+20\d\d-\d\d-\d\d\s+soil tests whole-field and 9 more/m,
    );
    expect(listed.stdout).toMatch(/^Millrace\s+154\.2\s+10\s+none$/m);
    const machine = JSON.parse((await cli("book", "list", book, "--json")).stdout);
    expect(machine.map(({name}: {name: string}) => name)).toEqual(["Kiln Forty", "Millrace"]);
    const again = await cli("book", "import", book, join(farm, "millrace"));
    expect(again.stdout).toMatch(/^Millrace: nothing new/);
  });

  test("restore puts a file back in force, note and log tell who did what", async () => {
    const {code, stderr} = await cli(
      "book",
      "restore",
      book,
      "Kiln Forty",
      "1",
      "--source",
      "lab-grid.csv",
      "--by",
      "Bo",
    );
    expect(code, stderr).toBe(0);
    expect((await cli("book", "list", book)).stdout).toMatch(/^Kiln Forty .*\bno$/m);
    await cli("book", "note", book, "Kiln Forty", "wet in the north-east corner", "--by", "Bo");
    const versions = (await cli("book", "list", book, "Kiln Forty", "--versions")).stdout;
    expect(versions).toContain("Bo: wet in the north-east corner");
    expect(versions).toMatch(/\* lab-grid\.csv 1 {2}/);
    expect(versions).toMatch(/ {4}lab-grid\.csv 2 {2}/);
    const log = JSON.parse((await cli("book", "log", book, "--json")).stdout);
    expect(
      log.map(({who, what}: {who: string; what: string}) => `${who} ${what}`).filter((l: string) => /Ada|Bo/.test(l)),
    ).toEqual(["Ada began the book", "Bo restored", "Bo noted"]);
  });

  test("verify and backup look the book over and say so by their exit codes", async () => {
    const good = await cli("book", "verify", book);
    expect(good.code, good.stdout).toBe(0);
    expect(good.stdout.match(/^good /gm)).toHaveLength(6);
    const copy = join(folder, "copy.gpkg");
    expect((await cli("book", "backup", book, copy)).code).toBe(0);
    const bytes = readFileSync(copy);
    const at = bytes.indexOf("Sample ID,");
    bytes.write("Simple ID,", at);
    writeFileSync(copy, bytes);
    const bad = await cli("book", "verify", copy, "--json");
    expect(bad.code).toBe(3);
    expect(bad.stdout).toMatch(/the bytes of lab-[a-z-]+\.csv are not those put in/);
    const twice = await cli("book", "backup", book, copy);
    expect(twice.code).toBe(3);
    expect(twice.stderr).toContain("There is a file");
  });

  test("prune takes old results out and leaves the rest", async () => {
    const job = join(folder, "kiln-forty", "job.json");
    await cli("run", job, "--out", out, "--book", book, "--seed", "7", "--quiet");
    const {code, stdout, stderr} = await cli("book", "prune", book, "--keep", "0");
    expect(code, stderr).toBe(0);
    expect(stdout).toBe("Kiln Forty: version 1\n");
    const refused = await cli("book", "restore", book, "Kiln Forty", "1");
    expect(refused.code).toBe(3);
    expect(refused.stderr).toContain("was pruned");
    expect((await cli("book", "verify", book)).code).toBe(0);
  });

  test.each([
    [["list", "none.gpkg"], "There is no book none.gpkg"],
    [["import", "BOOK", "nowhere"], "nowhere cannot be read"],
    [["export", "BOOK", "Kiln Fourty", "--out", "x"], 'Did you mean "Kiln Forty"?'],
    [["prune", "BOOK", "--keep", "all"], '"all" is no whole number'],
    [["restore", "BOOK", "Kiln Forty", "44"], "has no version 44"],
  ])("%j is refused with what to do", async (args, says) => {
    const {code, stderr} = await cli("book", ...args.map((arg) => (arg === "BOOK" ? book : arg)));
    expect(code).toBe(3);
    expect(stderr).toContain(says);
  });

  test("import keeps the logs of the spreading that a job names, those that are there yet", async () => {
    const path = join(folder, "kiln-forty", "spread.json");
    const job = JSON.parse(readFileSync(join(folder, "kiln-forty", "job.json"), "utf8"));
    const logs = ["spread.csv", "later.csv"].map((file) => ({files: [file], product: "0-0-60", plan: "grid"}));
    writeFileSync(path, JSON.stringify({...job, farm: "Spread Farm", asApplied: logs}));
    writeFileSync(join(folder, "kiln-forty", "spread.csv"), "Longitude,Latitude,Rate (lb/ac)\n-86.4,40.55,150\n");
    const {code, stdout, stderr} = await cli("book", "import", book, path);
    expect(code, stderr).toBe(0);
    expect(stdout).toContain("lab-zone.csv, spread.csv (");
    expect((await cli("book", "list", book, "Spread Farm/Kiln Forty")).stdout).toContain("* spread.csv 1 ");
    const several = await cli("book", "list", book, "Kiln Forty");
    expect(several.code).toBe(3);
    expect(several.stderr).toContain('Name the farm too, as in "Sedgewater Farm/Kiln Forty"');
  });
});
