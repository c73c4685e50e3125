import {readdirSync, readFileSync} from "node:fs";
import {describe, expect, test} from "vitest";
import {type FieldError, isFieldError} from "../../src/errors.ts";
import {filesOf} from "../../src/pipeline/files-of.ts";
import {readJob} from "../../src/pipeline/read-job.ts";

const LEAST = {field: {name: "Home", boundary: "b.geojson"}};
const CORN = {crop: "corn", yieldGoal: "190 bu/ac"};

function refusalOf(job: unknown): FieldError {
  try {
    readJob(typeof job === "string" ? job : JSON.stringify(job), "job.json");
  } catch (error) {
    if (isFieldError(error)) return error;
    throw error;
  }
  throw new Error("the job was taken");
}

describe("a job that is good", () => {
  test("needs a field with a name and a boundary only", () => {
    const job = readJob(JSON.stringify(LEAST), "job.json");
    expect(job).toMatchObject({
      seed: 1,
      strategies: ["whole-field", "grid", "zone"],
      baseline: "whole-field",
      layers: {cellSize: 5, yield: []},
      zones: {count: 4, restarts: 10, weights: {}},
      products: [],
      machine: {step: 1, min: 0, max: 600, belowMin: "zero", outside: 0},
    });
    expect(job.lab).toBeUndefined();
    expect(filesOf(job)).toEqual(["b.geojson"]);
  });

  test("has its quantities in the units used inside", () => {
    const job = readJob(
      JSON.stringify({
        ...LEAST,
        field: {...LEAST.field, statedArea: "2 ac"},
        layers: {cellSize: "10 ft"},
        sampling: {depth: "8 in", grid: {cellArea: "1 ha"}},
        machine: {step: "1 kg/ha"},
      }),
      "job.json",
    );
    // The international foot, inch and acre (NIST SP 811, table B.8) and 1 lb = 0.45359237 kg.
    expect(job.field.statedArea).toBeCloseTo(2 * 4046.8564224, 6);
    expect(job.layers.cellSize).toBeCloseTo(3.048, 12);
    expect(job.sampling.depth).toBeCloseTo(0.2032, 12);
    expect(job.sampling.grid.cellArea).toBe(10_000);
    expect(job.machine.step).toBeCloseTo(4046.8564224 / 10_000 / 0.45359237, 9);
  });

  test("may start with a byte-order mark", () => {
    expect(readJob(`\uFEFF${JSON.stringify(LEAST)}`, "job.json").field.name).toBe("Home");
  });

  test("names every file once, in order", () => {
    const lab = {file: "lab.csv", sampleId: "ID", analytes: [{analyte: "P", column: "P", unit: "ppm", method: "m"}]};
    const job = readJob(
      JSON.stringify({
        field: {name: "Home", boundary: {file: "b.shp"}},
        layers: {soilMap: {file: "b.shp", class: "unit"}, elevation: {file: "e.tif"}},
        lab: {files: [lab, lab], places: {file: "p.csv", sampleId: "ID"}},
      }),
      "job.json",
    );
    expect(filesOf(job)).toEqual(["b.shp", "e.tif", "lab.csv", "p.csv"]);
  });

  test.each(readdirSync(new URL("../../sample-data/", import.meta.url)).filter((name) => /^(kiln|mill)/.test(name)))(
    "the sample job of %s is one, and its files are there",
    (name) => {
      const folder = new URL(`../../sample-data/${name}/`, import.meta.url);
      const job = readJob(readFileSync(new URL("job.json", folder), "utf8"), "job.json");
      expect(readdirSync(folder)).toEqual(expect.arrayContaining(filesOf(job)));
    },
  );
});

describe("a job that is not good is refused with what to do", () => {
  test.each<[string, unknown, RegExp, RegExp]>([
    ["text that is not JSON", '{"field": ', /^job\.json is not JSON: /, /commas, quotes and brackets/],
    ["a mistyped setting", {...LEAST, sampilng: {}}, /^"sampilng" is not a setting of the job\.$/, /"sampling"\?/],
    [
      "a mistyped setting further down",
      {...LEAST, sampling: {grid: {celArea: "2 ac"}}},
      /^"celArea" is not a setting of sampling\.grid\.$/,
      /"cellArea"\?/,
    ],
    [
      "a mistyped setting in a list",
      {...LEAST, layers: {yield: [{file: "y.csv", crop: "corn", seasn: 2024, columns: {x: "x", y: "y"}}]}},
      /^"seasn" is not a setting of layers\.yield\.0\.$/,
      /"season"\?/,
    ],
    [
      "a mistyped setting where text or settings may stand",
      {field: {name: "Home", boundary: {file: "b.zip", layr: "x"}}},
      /^"layr" is not a setting of field\.boundary\.$/,
      /"layer"\?/,
    ],
    ["a setting nobody meant", {...LEAST, colour: "blue"}, /^"colour" is not a setting of the job\.$/, /^Remove it\.$/],
    ["a missing field", {}, /^field is missing\.$/, /^Add it/],
    ["a missing boundary", {field: {name: "Home"}}, /^field\.boundary is missing\.$/, /^Add it/],
    ["a number without a unit", {...LEAST, layers: {cellSize: "5"}}, /^layers\.cellSize: .*"5".*unit/, /./],
    [
      "a bare number",
      {...LEAST, layers: {cellSize: 5}},
      /^layers\.cellSize is 5, which has no unit\.$/,
      /^Write it with its unit, as in "5 m"\.$/,
    ],
    [
      "less than nothing",
      {...LEAST, layers: {cellSize: "-5 m"}},
      /^layers\.cellSize: "-5 m" is less than nothing\./,
      /./,
    ],
    [
      "an unknown strategy",
      {...LEAST, strategies: ["zones"]},
      /^strategies\.0 cannot be "zones"\.$/,
      /^Did you mean "zone"\? It is one of "whole-field", "grid", "zone"\.$/,
    ],
    ["a strategy twice", {...LEAST, strategies: ["zone", "zone"]}, /^strategies: each strategy once\.$/, /./],
    ["no strategy", {...LEAST, strategies: []}, /^strategies has 0 entries\.$/, /^Give at least 1 entry\.$/],
    ["a prefix with an I", {field: {...LEAST.field, prefix: "IV"}}, /^field\.prefix is "IV"/, /without I and O/],
    [
      "a seed that is no whole number",
      {...LEAST, seed: 1.5},
      /^seed is 1\.5, not a whole number\.$/,
      /^Write it without quotes, as in 2\.$/,
    ],
    ["text for a number", {...LEAST, zones: {calm: "0.1"}}, /^zones\.calm is "0\.1", not a number\.$/, /as in 0\.1\.$/],
    ["a number for text", {field: {...LEAST.field, name: 40}}, /^field\.name is 40, not text\.$/, /as in "40"\.$/],
    [
      "a word for a number or a word",
      {...LEAST, zones: {count: "four"}},
      /^zones\.count cannot be "four"\.$/,
      /^It takes a number or "choose"\.$/,
    ],
    [
      "a bare number where a word or a quantity may stand",
      {...LEAST, layers: {yield: [{file: "y.csv", crop: "corn", season: 2024, delay: 12}]}},
      /^layers\.yield\.0\.delay cannot be 12\.$/,
      /^It takes "estimate" or text with its unit, as in "12 s"\.$/,
    ],
    [
      "a number for a file",
      {field: {name: "Home", boundary: 5}},
      /^field\.boundary cannot be 5\.$/,
      /text or settings\.$/,
    ],
    ["too many zones", {...LEAST, zones: {count: 90}}, /^zones\.count is 90, which is too large\.$/, /at most 12\.$/],
    [
      "a word for yes",
      {...LEAST, zones: {judge: "yes"}},
      /^zones\.judge is "yes", not true or false\.$/,
      /without quotes/,
    ],
    ["one entry for a list", {...LEAST, strategies: "zone"}, /^strategies is "zone", not a list\.$/, /square brackets/],
    ["a list for settings", {...LEAST, zones: []}, /^zones is a list, not settings\.$/, /braces/],
    [
      "a reason that says nothing",
      {...LEAST, rates: {crops: [CORN], acceptMethod: {reason: "because"}}},
      /^rates\.acceptMethod\.reason is "because", which is too short\.$/,
      /^Write at least 10 letters\.$/,
    ],
    [
      "a share above one",
      {...LEAST, compare: {bankedShare: 75}},
      /^compare\.bankedShare is 75, which is too large\.$/,
      /at most 1\.$/,
    ],
    [
      "nothing of what must be more",
      {...LEAST, sampling: {coreCvPct: 0}},
      /^sampling\.coreCvPct is 0, which is too small\.$/,
      /above 0\.$/,
    ],
    [
      "a credit of an unknown kind",
      {...LEAST, rates: {crops: [CORN], policy: {credits: [{kind: "manur", nutrient: "P2O5"}]}}},
      /^rates\.policy\.credits\.0\.kind cannot be "manur"\.$/,
      /^Did you mean "manure"\? It is one of "manure", "starter", /,
    ],
    [
      "a zone by a name",
      {...LEAST, rates: {crops: [{...CORN, byZone: {east: "170 bu/ac"}}]}},
      /^"east" is no name for a setting of rates\.crops\.0\.byZone\.$/,
      /^Write the number of a zone\.$/,
    ],
    [
      "a bare number among units",
      {...LEAST, rates: {crops: [{...CORN, byUnit: {HG01: 170}}]}},
      /^rates\.crops\.0\.byUnit\.HG01 is 170, which has no unit\.$/,
      /"195 bu\/ac"/,
    ],
    [
      "a lab file without ids or places",
      {...LEAST, lab: {files: [{file: "l.csv", analytes: [{analyte: "P", column: "P", unit: "ppm", method: "m"}]}]}},
      /^lab\.files\.0: needs a sampleId column, or x and y\.$/,
      /./,
    ],
    ["null", "null", /^the job is null, not settings\.$/, /braces/],
    ["a list", "[]", /^the job is a list, not settings\.$/, /braces/],
    ["settings by the name of every object's parent", '{"__proto__": {"field": 1}, "field": 5}', /^/, /./],
  ])("%s", (_, job, message, hint) => {
    const refusal = refusalOf(job);
    expect(refusal.message).toMatch(message);
    expect(refusal.hint).toMatch(hint);
    expect(refusal.place?.file).toBe("job.json");
    expect(refusal.message).not.toMatch(/undefined|\[object|: expected|Invalid|Too /);
  });

  test("everything wrong is told in one go, a mistyped name before the setting it leaves missing", () => {
    const refusal = refusalOf({field: {nam: "Home", boundary: "b.geojson"}, seed: "x", layers: {cellSize: "5 ac"}});
    expect(refusal.message).toBe('"nam" is not a setting of field.');
    expect(refusal.hint).toBe('Did you mean "name"?');
    const others = refusal.issues.map(({message}) => message).join("\n");
    expect(others).toMatch(/field\.name is missing/);
    expect(others).toMatch(/^seed is "x", not a number\.$/m);
    expect(others).toMatch(/^layers\.cellSize: /m);
  });
});
