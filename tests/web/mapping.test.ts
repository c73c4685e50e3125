import {unzipSync} from "fflate";
import {describe, expect, it} from "vitest";
import {jobJsonSchema} from "../../src/pipeline/job.ts";
import type {SourceCard, SourceColumn} from "../../web/api/types.ts";
import {answered, answersIn} from "../../web/files/answers.ts";
import {bundled} from "../../web/files/bundle.ts";
import {sayWhere, shareIn} from "../../web/files/lies-in.ts";
import {heldBy, holding, isSettled, stillOpen} from "../../web/files/mapping.ts";
import {otherPrefix, sayBags, sayHarvest} from "../../web/files/say-card.ts";
import {sayUse, usesOf} from "../../web/files/uses.ts";
import {beginning, choiceFor, choicesOf, nameOfChoice, type Shape, wordsOf} from "../../web/stations/job-schema.ts";
import {nutrientOf} from "../../web/stations/nutrient-of.ts";
import {sayRefused, saySettingRefused} from "../../web/stations/say-refused.ts";

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

describe("a lab report like another", () => {
  const question = (about: string, column?: string) => ({about, ...(column && {column}), message: "", choices: []});
  const questions = [question("unit", "P"), question("method", "P"), question("method", "OM"), question("depth")];

  it("has the answers of the other, read back from what was written of them", () => {
    const answers = ["ppm", "bray-1", "leave out", "6 in"];
    const written = answered({sampleId: "ID"}, "lab", questions, answers);
    expect(answersIn(written, questions)).toEqual(answers);
    expect(answersIn({}, questions)).toEqual(["", "", "", ""]);
  });

  it("has them too where the columns of the other were told by hand", () => {
    const analytes = [{analyte: "P", column: "P", unit: "ppm", method: "olsen"}];
    expect(answersIn({depth: "8 in", analytes}, questions)).toEqual(["ppm", "olsen", "leave out", "8 in"]);
  });
});

describe("what the card of a file says", () => {
  it("is what was harvested and whence it is known, or what is asked", () => {
    const named = {crop: "corn", season: 2023};
    expect(sayHarvest(named, named)).toBe("2023 corn, from the file's name.");
    expect(sayHarvest({crop: "wheat", season: 2023}, named)).toBe("2023, from the file's name; wheat.");
    expect(sayHarvest({crop: "wheat", season: 2021}, named)).toBe("2021 wheat.");
    expect(sayHarvest({season: 2023}, {season: 2023})).toBe("Which crop was harvested? 2023, from the file's name.");
    expect(sayHarvest({crop: "corn"}, {})).toBe("In which year was it harvested? corn.");
    expect(sayHarvest({}, {})).toMatch(/^Which crop was harvested, and in which year/);
  });

  it("is how many ids are bags of each plan, but for case and outer spaces", () => {
    const plans = [
      {name: "Whole field", bags: ["W01"]},
      {name: "Grid", bags: ["G01", "G02", "G03"]},
    ];
    expect(sayBags(["G01", "g02 "], plans)).toEqual({
      words: "2 of 2 ids are bags of the plan Grid, and 1 of its 3 bags has no result here; none of Whole field.",
      doubt: false,
    });
    expect(sayBags(["W01", "G03", "X"], plans).words).toBe(
      "1 of 3 ids is a bag of the plan Whole field, 1 of 3 ids is a bag of the plan Grid.",
    );
    expect(sayBags(["X1", "X2"], plans)).toEqual({
      words: "None of its 2 ids is a bag of this field's plans (Whole field, Grid).",
      doubt: true,
    });
  });

  it("tells bags of a plan that are called by other letters, all of them or none", () => {
    const plans = [
      {name: "Whole field", bags: ["MLRW01"]},
      {name: "Grid", bags: ["MLRG01", "MLRG02", "MLRG03"]},
    ];
    const found = {name: "Grid", theirs: "MR", ours: "MLR"};
    expect(otherPrefix(["MRG03", "mrg01 ", "MRG02"], plans)).toEqual(found);
    expect(otherPrefix(["MRG01", "MRG02"], plans)).toBeUndefined();
    expect(otherPrefix(["MRG01", "MRG02", "MRG04"], plans)).toBeUndefined();
    expect(otherPrefix(["MRG01", "MRG02", "MRG02"], plans)).toBeUndefined();
    expect(otherPrefix(["MRG01", "KFG02", "MRG03"], plans)).toBeUndefined();
    expect(otherPrefix(["MRZ01", "MRZ02", "MRZ03"], plans)).toBeUndefined();
    expect(otherPrefix(["MLRG01", "MLRG02", "MLRG03"], plans)).toBeUndefined();
    expect(otherPrefix([], plans)).toBeUndefined();
  });

  // On the equator, where a degree is as long both ways; a thousandth is 111 m.
  const square = [
    [0, 0],
    [0.01, 0],
    [0.01, 0.01],
    [0, 0.01],
    [0, 0],
  ] as const;
  const hole = [
    [0.004, 0.004],
    [0.004, 0.006],
    [0.006, 0.006],
    [0.006, 0.004],
    [0.004, 0.004],
  ] as const;
  const card = (more: Partial<SourceCard>): SourceCard => ({
    ...{id: "", name: "", bytes: 0, kind: "csv", lines: [], issues: [], looksLike: [], proposed: {}},
    ...more,
  });

  it("is how much of it lies in the field: not in its cut-outs, but within 30 m of its border", () => {
    expect(shareIn([[square, hole]], [[0.002, 0.002]])).toBe(1);
    expect(shareIn([[square, hole]], [[0.005, 0.005]])).toBe(0);
    expect(
      shareIn(
        [[square]],
        [
          [0.0102, 0.005],
          [0.0104, 0.005],
        ],
      ),
    ).toBe(0.5); // 22 m and 45 m outside
    const inside = [0.002, 0.002] as const;
    const away = [1, 1] as const;
    const say = (...positions: (readonly [number, number])[]) => sayWhere([[square]], card({positions}));
    expect(say(inside)).toEqual({words: "All its positions lie in this field or beside it.", doubt: false});
    expect(say(inside, inside, away)?.words).toMatch(/^About 67 %/);
    expect(say(inside, away, away)).toMatchObject({words: expect.stringMatching(/^Only about 33 %/), doubt: true});
    expect(say(away)).toEqual({words: "None of its positions lies in this field or beside it.", doubt: true});
  });

  it("is a warning where shapes lie elsewhere, and nothing where they lie over the field", () => {
    expect(sayWhere([[square]], card({box: [1, 1, 2, 2]}))?.doubt).toBe(true);
    expect(sayWhere([[square]], card({box: [-1, -1, 2, 2]}))).toBeUndefined();
    expect(sayWhere([[square]], card({}))).toBeUndefined();
  });
});

describe("a row of crops or products", () => {
  it("takes the nutrient of a product that holds only one", () => {
    expect(nutrientOf("0-0-60")).toEqual({nutrient: "K2O"});
    expect(nutrientOf("11-52-0")).toEqual({nutrient: "P2O5"});
    expect(["10-26-26", "46-0-0", "0-0", "potash"].map(nutrientOf)).toEqual([{}, {}, {}, {}]);
  });

  it("says why it was refused by the words of its boxes", () => {
    const columns = [{key: "yieldGoal", label: "Yield goal"}];
    const say = (message: string, hint: string) => sayRefused({message, hint}, ["rates", "crops"], "crop", columns);
    const message = 'rates.crops.0.yieldGoal: "195" is not a yield goal with a unit.';
    const wanted = 'Yield goal of crop 1: "195" is not a yield goal with a unit.';
    expect(say(message, "See docs/job.md for what a job may hold.")).toBe(wanted);
    expect(say(message, "Write a unit.")).toBe(`${wanted} Write a unit.`);
    expect(say("rates.guide is missing.", "Add it.")).toBe("rates.guide is missing. Add it.");
  });

  it("is told of a single setting by its own words too", () => {
    const say = (message: string, hint?: string) =>
      saySettingRefused({message, ...(hint && {hint})}, ["sampling", "grid", "cellArea"], "Cell");
    expect(say('sampling.grid.cellArea: "2 bu" is not an area.', "Write 2.5 ac.")).toBe(
      'Cell: "2 bu" is not an area. Write 2.5 ac.',
    );
    expect(say("sampling.grid.cellArea is missing.", "Add it; docs/job.md shows an example.")).toBe("Cell is missing.");
    // Of something else: as the server says it.
    for (const other of ["sampling.grid.cellArea.x is no.", "There is no file a.csv."]) expect(say(other)).toBe(other);
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
