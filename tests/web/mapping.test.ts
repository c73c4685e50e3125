import {unzipSync} from "fflate";
import {describe, expect, it} from "vitest";
import {jobJsonSchema} from "../../src/pipeline/job.ts";
import type {SourceColumn} from "../../web/api/types.ts";
import {bundled} from "../../web/files/bundle.ts";
import {heldBy, holding, isSettled, stillOpen} from "../../web/files/mapping.ts";
import {sayUse, usesOf} from "../../web/files/uses.ts";
import {beginning, choiceFor, choicesOf, nameOfChoice, type Shape, wordsOf} from "../../web/stations/job-schema.ts";

const strange: SourceColumn[] = ["Fld1", "A", "B", "C"].map((heading) => ({heading, sample: [], readAs: ""}));

describe("columns told by hand", () => {
  it("make a yield log of headings that say nothing", () => {
    expect(stillOpen("yield", {}, strange)).toMatch(/longitude and latitude/);
    let settings = holding("yield", {crop: "corn"}, strange, "A", {is: "x"});
    settings = holding("yield", settings, strange, "B", {is: "y"});
    expect(stillOpen("yield", settings, strange)).toMatch(/grain flow/);
    settings = holding("yield", settings, strange, "C", {is: "flow", unit: "lb/s"});
    expect(settings).toEqual({crop: "corn", columns: {x: "A", y: "B", flow: {column: "C", unit: "lb/s"}}});
    expect(stillOpen("yield", settings, strange)).toBe("");
    expect([...heldBy("yield", settings, strange)]).toContainEqual(["C", {is: "flow", unit: "lb/s"}]);
  });

  it("hold one thing each, and a thing stands in one column", () => {
    let settings = holding("yield", {columns: {x: "A", y: "B"}}, strange, "C", {is: "x"});
    expect(settings.columns).toEqual({y: "B", x: "C"});
    settings = holding("yield", settings, strange, "C", undefined);
    expect(settings.columns).toEqual({y: "B"});
  });

  it("begin as the file was read, and are written whole once one is changed", () => {
    const read: SourceColumn[] = [
      {heading: "ID", sample: [], readAs: "", is: "sample id"},
      {heading: "P", sample: [], readAs: "", is: "P", unit: "ppm"},
      {heading: "pH", sample: [], readAs: "", is: "pH", unit: "pH", method: "water 1:1"},
    ];
    const question = {about: "method", column: "P", message: "", choices: []};
    expect(isSettled(question, "lab", {})).toBe(false);
    expect(stillOpen("lab", {}, read)).toBe("");
    const half = holding("lab", {depth: "8 in", answers: [{column: "P", method: "bray-1"}]}, read, "pH", undefined);
    expect(half).toEqual({depth: "8 in", sampleId: "ID", analytes: [{analyte: "P", column: "P", unit: "ppm"}]});
    expect(stillOpen("lab", half, read)).toBe('Say unit and method of "P".');
    const whole = holding("lab", half, read, "P", {is: "P", unit: "ppm", method: "bray-1"});
    expect(stillOpen("lab", whole, read)).toBe("");
    expect(isSettled(question, "lab", whole)).toBe(true);
  });

  it("make points of a table", () => {
    let settings = holding("points", {x: "A", y: "B"}, strange, "C", {is: "value"});
    expect(settings).toEqual({x: "A", y: "B", column: "C"});
    settings = holding("points", settings, strange, "A", undefined);
    expect(stillOpen("points", settings, strange)).toMatch(/longitude/);
  });
});

describe("what a job uses a file for", () => {
  it("is said of every place that names it", () => {
    const job = {
      field: {boundary: "b.geojson"},
      layers: {yield: [{file: "y.csv", season: 2024, crop: "corn"}]},
      sampling: {
        keepOuts: [
          {file: "k.geojson", kind: "waterway"},
          {file: "k.geojson", name: "Lane"},
        ],
      },
      asApplied: [{files: ["spread.csv"]}],
    };
    const said = (file: string) => usesOf(job, file).map(sayUse);
    expect(said("b.geojson")).toEqual(["the boundary"]);
    expect(said("y.csv")).toEqual(["a yield log, 2024 corn"]);
    expect(said("k.geojson")).toEqual(["ground to keep cores out of, waterway", "ground to keep cores out of, Lane"]);
    expect(usesOf(job, "k.geojson").map(({at}) => at)).toEqual([0, 1]);
    expect(said("spread.csv")).toEqual(["used by the job"]);
    expect(said("other.csv")).toEqual([]);
  });
});

describe("files dropped together", () => {
  const file = (name: string, text = name): File => new File([text], name);

  it("are left as they are, but for the members of a shapefile", async () => {
    const names = ["log.csv", "Soil.SHP", "soil.dbf", "soil.prj", "other.prj", "lone.shp"];
    const whole = await bundled(names.map((name) => file(name)));
    expect(whole.map(({name}) => name)).toEqual(["log.csv", "other.prj", "lone.shp", "Soil.zip"]);
    const zip = unzipSync(new Uint8Array(await (whole.at(-1) as File).arrayBuffer()));
    expect(Object.keys(zip)).toEqual(["Soil.SHP", "soil.dbf", "soil.prj"]);
    expect(new TextDecoder().decode(zip["soil.dbf"])).toBe("soil.dbf");
  });
});

describe("a form made from the job's schema", () => {
  const schema = jobJsonSchema() as Shape;
  const at = (...keys: string[]): Shape =>
    keys.reduce((shape, key) => (key === "*" ? shape.items : shape.properties?.[key]) ?? {}, schema);

  it("reaches every setting: each is a word, a section, a list, or named by the user", () => {
    const kinds = new Set<string>();
    const walk = (shape: Shape, path: string): void => {
      const inner = choicesOf(shape) ?? Object.values(shape.properties ?? {});
      for (const of of inner) walk(of, `${path}/${of.description ?? ""}`);
      if (inner.length > 0) return;
      const kind = shape.enum ? "enum" : shape.const !== undefined ? "const" : String(shape.type);
      kinds.add(kind);
      if (kind === "array" && !shape.prefixItems) walk(shape.items ?? {}, `${path}[]`);
      if (kind === "object") walk(shape.additionalProperties || {}, `${path}{}`);
      expect(["enum", "const", "string", "number", "integer", "boolean", "array", "object"], path).toContain(kind);
    };
    walk(schema, "job");
    expect(kinds.size).toBeGreaterThan(5);
  });

  it("tells one way of saying a thing from another", () => {
    const credits = choicesOf(at("rates", "policy", "credits", "*")) ?? [];
    expect(credits.map(nameOfChoice)).toEqual(["manure", "starter, previous application, other"]);
    expect(choiceFor(credits, {kind: "manure", nutrient: "P2O5"})).toBe(0);
    expect(choiceFor(credits, {kind: "other", nutrient: "P2O5", text: "x"})).toBe(1);
    expect(choiceFor(credits, undefined)).toBe(-1);
    expect(beginning(credits[1] as Shape)).toEqual({kind: "starter", nutrient: "P2O5"});
    const blend = choicesOf(at("rates", "blend")) ?? [];
    expect(choiceFor(blend, true)).toBe(0);
    expect(choiceFor(blend, {nitrogen: "0.5 $/lb"})).toBe(1);
  });

  it("names settings in words", () => {
    expect(["buildupYears", "availablePct", "ccePct", "P2O5"].map(wordsOf)).toEqual([
      "buildup years",
      "available %",
      "cce %",
      "P2O5",
    ]);
  });
});
