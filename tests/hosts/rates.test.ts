import {readFileSync} from "node:fs";
import {join} from "node:path";
import {describe, expect, test} from "vitest";
import {cli, scratch} from "./in-process.ts";
import {type Files, type LooseJob, labCsv, layOut, polygonJson, RING, smallJob, YIELD, yieldCsv} from "./small-job.ts";

// One field, whole and in two grid cells, through every way results come in and rates are changed.

const GRID = ["WPG01", "WPG02"];
const IDS = ["WPW01", ...GRID];

function lay(change: (job: LooseJob) => void = () => {}, files: Files = {}): {folder: string; job: string} {
  const folder = scratch();
  const job = smallJob();
  job.strategies = ["whole-field", "grid"];
  change(job);
  return {
    folder,
    job: layOut(folder, job, {"boundary.geojson": polygonJson([RING]), "lab.csv": labCsv(IDS), ...files}),
  };
}

async function ratesOf(job: string): Promise<LooseJob> {
  const {code, stdout, stderr} = await cli("rates", job, "--json", "--quiet");
  expect(code, stderr).toBe(0);
  return JSON.parse(stdout);
}

const grid = (found: LooseJob) => found.find(({strategy}: LooseJob) => strategy === "grid");
const rateOf = (found: LooseJob, unit: string, nutrient: string) =>
  grid(found).recommendations.find((one: LooseJob) => one.unit === unit && one.nutrient === nutrient);

async function run(job: string, folder: string) {
  const outcome = await cli("run", job, "--out", join(folder, "out"));
  const record = outcome.code === 0 ? JSON.parse(readFileSync(join(folder, "out", "run.json"), "utf8")) : undefined;
  return {...outcome, record};
}

describe("loamwright rates", () => {
  test("prints every unit with acres, CEC, test, class, rate and product", async () => {
    const {code, stdout} = await cli("rates", lay().job, "--quiet");
    expect(code).toBe(0);
    expect(stdout).toMatch(/^Grid$/m);
    expect(stdout).toMatch(/WPG01\s+2\.6\s+13\.0\s+21\s+maintenance range\s+63\.0/);
    // 180 bu × 0.35 = 63 lb P2O5, 121 lb of 11-52-0; a table wider than the page goes on below.
    expect(stdout).toMatch(/11-52-0\s+0-0-60$/m);
    expect(stdout).toMatch(/^WPG01 .*\s121\s+\d+$/m);
  });

  test("prints pH where it was measured, and units without a rate with a dash", async () => {
    const {stdout} = await cli(
      "rates",
      lay(
        (job) => {
          job.rates.missing = "zero";
          job.lab.files[0].analytes.push({analyte: "pH", column: "pH", unit: "pH", method: "water 1:1"});
        },
        {"lab.csv": "Sample,P,K,CEC,pH\nWPW01,30,150,12,6.4\nWPG01,21,111,12,6.25\n"},
      ).job,
      "--quiet",
    );
    expect(stdout).toMatch(/acres\s+pH/);
    expect(stdout).toMatch(/WPG01\s+2\.6\s+6\.3\s+12\.0\s+21/);
    expect(stdout).toMatch(/WPG02\s+2\.9\s+—\s+—\s+—/);
    expect(stdout).toMatch(/WPG02\s+—\s+—\s+0\s+0$/m);
  });

  test("explains one unit from the lab's row to the pound of product", async () => {
    const {code, stdout} = await cli("rates", lay().job, "--explain", "wpg01", "--quiet");
    expect(code).toBe(0);
    for (const part of ["sample WPG01 (lab.csv, row 3)", "180 bu/ac × 0.35", "63 ÷ 0.52"])
      expect(stdout).toContain(part);
  });

  test("refuses a unit that is not there, and a job without lab results", async () => {
    const stray = await cli("rates", lay().job, "--explain", "WPG9");
    expect([stray.code, stray.stderr]).toEqual([3, expect.stringContaining('no rates for a unit "WPG9"')]);
    const {code, stderr} = await cli("rates", lay((job) => delete job.lab).job);
    expect([code, stderr]).toEqual([3, expect.stringContaining("no lab results")]);
  });
});

describe("lab reports", () => {
  test("are read from the words of their headings when columns are not named, and say how", async () => {
    const {folder, job} = lay((settings) => (settings.lab.files = [{file: "lab.csv"}]), {
      "lab.csv":
        "Sample ID,P Mehlich-3 ICP (ppm),K Mehlich-3 (ppm),CEC sum of cations (meq/100 g)\nWPW01,30,150,12\nWPG01,18,110,12\nWPG02,21,120,13\n",
    });
    const {code, stderr, record} = await run(job, folder);
    expect(code, stderr).toBe(0);
    const note = record.issues.find(({code: c}: LooseJob) => c === "lab/columns-proposed");
    expect(note.message).toContain('"K Mehlich-3 (ppm)" as K in mg/kg by mehlich-3');
  });

  test("with an open question are refused with what to write into the job, and read once it is answered", async () => {
    const csv =
      "Sample ID,P (ppm),K Mehlich-3 (ppm),CEC sum of cations (meq/100 g)\nWPW01,30,150,12\nWPG01,18,110,12\nWPG02,21,120,13\n";
    const open = await cli("rates", lay((job) => (job.lab.files = [{file: "lab.csv"}]), {"lab.csv": csv}).job);
    expect([open.code, open.stderr]).toEqual([3, expect.stringContaining('"answers": [{"column"')]);
    const found = await ratesOf(
      lay((job) => (job.lab.files = [{file: "lab.csv", answers: [{column: "P (ppm)", method: "mehlich-3 icp"}]}]), {
        "lab.csv": csv,
      }).job,
    );
    expect(rateOf(found, "WPG01", "P2O5").test.value).toBe(18);
  });

  test("with several open questions ask each on a line of its own, with its column and what can be answered", async () => {
    const csv = "Sample ID,P,K,CEC (meq/100 g)\nWPW01,30,150,12\nWPG01,18,110,12\nWPG02,21,120,13\n";
    const {stderr} = await cli("rates", lay((job) => (job.lab.files = [{file: "lab.csv"}]), {"lab.csv": csv}).job);
    const lines = stderr.split("\n");
    expect(lines[0]).toBe("The report leaves 5 things open. (lab.csv)");
    const asked = lines.filter((line) => line.includes("Answer its"));
    expect(asked.map((line) => [/column "([^"]+)"/.exec(line)?.[1], /Answer its (\w+)/.exec(line)?.[1]])).toEqual([
      ["P", "unit"],
      ["P", "method"],
      ["K", "unit"],
      ["K", "method"],
      ["CEC (meq/100 g)", "method"],
    ]);
  });

  test("with one row a result are told from those with one row a sample", async () => {
    const rows = IDS.flatMap((id, i) => [
      `${id},P,${18 + i},ppm,Mehlich-3 ICP`,
      `${id},K,${110 + i},ppm,Mehlich-3`,
      `${id},CEC,12,meq/100 g,sum of cations`,
    ]);
    const found = await ratesOf(
      lay((job) => (job.lab.files = [{file: "lab.csv"}]), {
        "lab.csv": ["Sample ID,Analyte,Result,Unit,Method", ...rows].join("\n"),
      }).job,
    );
    expect(rateOf(found, "WPG02", "K2O").test.value).toBe(112);
  });

  test("take a person's choices about results, and keep them in the record", async () => {
    const {folder, job} = lay((settings) => {
      settings.rates.missing = "zero";
      settings.lab.choices = [{sampleId: "WPG01", analyte: "P", choice: "re-run", reason: "bag was open"}];
      settings.products = [settings.products[1]];
    });
    const {code, stderr, record} = await run(job, folder);
    expect(code, stderr).toBe(0);
    expect(record.choices).toEqual([
      {
        sampleId: "WPG01",
        analyte: "P",
        choice: "re-run",
        reason: "bag was open",
        value: 21,
        unit: "mg/kg",
        method: "mehlich-3 icp",
      },
    ]);
  });

  test("propose the planned sample for a mistyped id, and join it only when it is accepted", async () => {
    const csv = labCsv(["WPW01", "WPG1", "WPG02"]);
    const doubtful = lay((job) => (job.rates.missing = "zero"), {"lab.csv": csv});
    const before = await run(doubtful.job, doubtful.folder);
    expect(before.stderr).toContain('"accepted": {"WPG1": "WPG01"}');
    const found = await ratesOf(lay((job) => (job.lab.accepted = {WPG1: "WPG01"}), {"lab.csv": csv}).job);
    expect(rateOf(found, "WPG01", "P2O5").test.value).toBe(21);
  });

  test("of earlier years give each unit its history, with the error of the change", async () => {
    const {folder, job} = lay(
      (settings) => {
        settings.lab.date = "2026-04-10";
        settings.lab.earlier = [{...settings.lab.files[0], file: "lab-2022.csv", date: "2022-04-12"}];
      },
      {"lab-2022.csv": "Sample,P,K,CEC\nWPW01,30,150,12\nWPG01,45,111,12\nWPG02,24,125,13\n"},
    );
    const {code, stderr, record} = await run(job, folder);
    expect(code, stderr).toBe(0);
    const history = record.histories.find((one: LooseJob) => one.unit === "WPG01" && one.tests[0].test.analyte === "P");
    // 21 against 45; each known to 12 %: 1.96 × √(5.4² + 2.52²) = 11.7.
    expect(history.change).toBe(-24);
    expect(history.changeError).toBeCloseTo(11.68, 2);
    expect(history.isTold).toBe(true);
  });
});

describe("lab results and the plan they were taken by", () => {
  test("are told the mark of the plan, and refused when the plan was made in another way", async () => {
    const {folder, job} = lay();
    const before = await run(job, folder);
    const marks = /"grid": "(\w{7})"/.exec(before.stderr)?.[1];
    expect(marks).toBeDefined();
    const pinned = lay((settings) => (settings.lab.plans = {grid: marks}));
    expect((await run(pinned.job, pinned.folder)).code).toBe(0);
    const moved = lay((settings) => {
      settings.lab.plans = {grid: marks};
      settings.sampling.grid = {cellArea: "1.5 ac"};
    });
    const {code, stderr} = await run(moved.job, moved.folder);
    expect([code, stderr]).toEqual([3, expect.stringContaining(`The samples were taken by grid plan ${marks}`)]);
  });
});

describe("rates", () => {
  test("follow goals of single units, of tons only where the guide has tons", async () => {
    const found = await ratesOf(lay((job) => (job.rates.crops[0].byUnit = {WPG02: "100 bu/ac"})).job);
    // Removal alone: 24 ppm stands between 20 and 40. 100 × 0.35.
    expect(rateOf(found, "WPG02", "P2O5").rateLbPerAcre).toBeCloseTo(35, 9);
    const tons = await cli("rates", lay((job) => (job.rates.crops[0].yieldGoal = "5 ton/ac")).job);
    expect([tons.code, tons.stderr]).toEqual([3, expect.stringContaining("takes corn in bu/ac, not ton/ac")]);
  });

  test("follow yield history when asked, and refuse it without any", async () => {
    const found = await ratesOf(
      lay(
        (job) => {
          job.layers.yield = [YIELD];
          job.rates.goals = "from yield history";
        },
        {"yield.csv": yieldCsv()},
      ).job,
    );
    const text = rateOf(found, "WPG01", "P2O5").working.map((step: LooseJob) => step.text);
    expect(text.join("\n")).toMatch(/yield goal, corn: 180 for the field × [\d.]+ % of its mean here/);
    const none = await cli("rates", lay((job) => (job.rates.goals = "from yield history")).job);
    expect([none.code, none.stderr]).toEqual([3, expect.stringContaining("there is none")]);
  });

  test("show credits, limits and overrides as lines of their own", async () => {
    const found = await ratesOf(
      lay((job) => {
        job.rates.policy = {
          credits: [
            {kind: "manure", nutrient: "P2O5", amount: "1000 gal/ac", content: "40 lb/1000 gal", availablePct: 50},
          ],
          limits: {K2O: {max: "20 lb/ac"}},
          overrides: [
            {unit: "WPG02", nutrient: "P2O5", rate: "90 lb/ac", reason: "the grower wants starter everywhere"},
          ],
        };
      }).job,
    );
    // 180 × 0.35 = 63, less 1000/1000 × 40 × 50 %.
    expect(rateOf(found, "WPG01", "P2O5").rateLbPerAcre).toBeCloseTo(43, 9);
    expect(rateOf(found, "WPG01", "K2O").rateLbPerAcre).toBe(20);
    const set = rateOf(found, "WPG02", "P2O5");
    expect([set.rateLbPerAcre, set.guideLbPerAcre]).toEqual([90, expect.closeTo(63, 9)]);
    expect(set.issues.map(({code}: LooseJob) => code)).toContain("recommend/above-guide");
  });

  test("refuse settings of units that no plan has, and manure in two measures", async () => {
    const override = {unit: "WPG77", nutrient: "P2O5", rate: "90 lb/ac", reason: "a slip of the pen"};
    const stray = await cli("rates", lay((job) => (job.rates.policy = {overrides: [override]})).job);
    expect([stray.code, stray.stderr]).toEqual([3, expect.stringContaining('unit "WPG77", which no plan has')]);
    const manure = {kind: "manure", nutrient: "P2O5", amount: "3 ton/ac", content: "40 lb/1000 gal", availablePct: 50};
    const mixed = await cli("rates", lay((job) => (job.rates.policy = {credits: [manure]})).job);
    expect([mixed.code, mixed.stderr]).toEqual([3, expect.stringContaining("given in ton and its content per gal")]);
  });

  test("carry cautions about soil phosphorus with the state's limit", async () => {
    const {folder, job} = lay((settings) => (settings.rates.state = "IN"), {
      "lab.csv": "Sample,P,K,CEC\nWPW01,30,150,12\nWPG01,120,111,12\nWPG02,24,125,13\n",
    });
    const {code, stderr, record} = await run(job, folder);
    expect(code, stderr).toBe(0);
    const codes = record.issues
      .filter(({place}: LooseJob) => place?.featureId === "WPG01")
      .map((one: LooseJob) => one.code);
    expect(codes).toEqual(expect.arrayContaining(["caution/phosphorus-threshold", "caution/legacy-phosphorus"]));
  });

  test("come from a guide of the user's own, or say what is wrong with its file", async () => {
    const broken = await cli("rates", lay((job) => (job.rates.guide = {file: "mine.json"}), {"mine.json": "{"}).job);
    expect([broken.code, broken.stderr]).toEqual([3, expect.stringContaining("mine.json is not valid JSON")]);
    const empty = await cli("rates", lay((job) => (job.rates.guide = {file: "mine.json"}), {"mine.json": "{}"}).job);
    expect([empty.code, empty.stderr]).toEqual([3, expect.stringContaining("mine.json")]);
  });
});

describe("units whose results are missing", () => {
  const typo = labCsv(["WPW01", "WPG1", "WPG02"]);
  const issue = (record: LooseJob, code: string) => record.issues.find((one: LooseJob) => one.code === code);

  test("are refused with the ids that did not match and the two ways out", async () => {
    const {code, stderr} = await cli("rates", lay(undefined, {"lab.csv": typo}).job);
    expect(code).toBe(3);
    const [first, hint] = stderr.split("\n").filter((line) => !line.startsWith("\r"));
    expect(first).toContain('Unit "WPG01" has no soil test for P');
    for (const way of ['"accepted" under "lab"', '"missing": "zero"']) expect(hint).toContain(way);
    for (const part of ['"accepted": {"WPG1": "WPG01"}', 'Sample "WPG1" is in no plan', '"WPG01" has no results'])
      expect(stderr).toContain(part);
  });

  test("are refused so for lime too", async () => {
    const limed = (job: LooseJob) => {
      job.lab.files[0].analytes.push({analyte: "pH", column: "pH", unit: "pH", method: "water 1:1"});
      job.lime = {method: "e-2567", targetPh: 6.5};
      delete job.rates;
    };
    const csv = "Sample,P,K,CEC,pH\nWPW01,30,150,12,6.8\nWPG1,21,111,12,6.9\nWPG02,24,125,13,6.6\n";
    const {code, stderr} = await cli("rates", lay(limed, {"lab.csv": csv}).job);
    expect([code, stderr]).toEqual([3, expect.stringContaining('"accepted": {"WPG1": "WPG01"}')]);
  });

  test("count as nothing spread where the job says so, which is told with their acres", async () => {
    const {folder, job} = lay((settings) => (settings.rates.missing = "zero"), {"lab.csv": typo});
    const {code, stderr, record} = await run(job, folder);
    expect(code, stderr).toBe(0);
    expect(issue(record, "rates/nothing-counted")).toMatchObject({severity: "warning", place: {file: "rates-grid"}});
    expect(issue(record, "rates/nothing-counted").message).toMatch(
      /^WPG01 of the grid plan, 2\.\d ac, has no rate of P2O5 and K2O: its ground counts as nothing spread; differences between strategies hold this\.$/,
    );
  });

  test("of one nutrient alone get none of that and all of the others, with the reason", async () => {
    const exclude = (settings: LooseJob) => {
      settings.rates.missing = "zero";
      settings.lab.choices = [{sampleId: "WPG01", analyte: "P", choice: "exclude", reason: "ten times its neighbours"}];
    };
    const {folder, job} = lay(exclude);
    const {code, stderr, record} = await run(job, folder);
    expect(code, stderr).toBe(0);
    expect(issue(record, "rates/nothing-counted").message).toContain(
      "has no rate of P2O5 (P of WPG01 was excluded by your choice)",
    );
    const found = await ratesOf(job);
    expect([rateOf(found, "WPG01", "P2O5"), rateOf(found, "WPG01", "K2O")?.test.value]).toEqual([undefined, 120]);
    const compared = await cli("compare", job, "--json", "--quiet");
    expect(compared.code, compared.stderr).toBe(0);
    expect(compared.stdout).not.toContain("NaN");
  });

  test("are refused all the same where not one unit of a plan has the test", async () => {
    const exclude = (settings: LooseJob) => {
      settings.rates.missing = "zero";
      settings.lab.choices = [{sampleId: "WPW01", analyte: "P", choice: "exclude", reason: "the bag was wet"}];
    };
    const {code, stderr} = await cli("rates", lay(exclude).job);
    expect(code).toBe(3);
    for (const part of ["No unit of the plan has it", "was excluded: the bag was wet"]) expect(stderr).toContain(part);
  });

  test("get no lime where their pH was excluded, and the others do", async () => {
    const limed = (settings: LooseJob) => {
      settings.rates.missing = "zero";
      settings.lab.files[0].analytes.push(
        {analyte: "pH", column: "pH", unit: "pH", method: "water 1:1"},
        {analyte: "buffer pH", column: "BpH", unit: "pH", method: "sikora"},
      );
      settings.lab.choices = [{sampleId: "WPG01", analyte: "pH", choice: "exclude", reason: "electrode was off"}];
      settings.lime = {method: "e-2567", targetPh: 6.5};
    };
    const csv = "Sample,P,K,CEC,pH,BpH\nWPW01,30,150,12,6.0,6.6\nWPG01,21,111,12,5.8,6.5\nWPG02,24,125,13,6.0,6.6\n";
    const {folder, job} = lay(limed, {"lab.csv": csv});
    const {code, stderr, record} = await run(job, folder);
    expect(code, stderr).toBe(0);
    expect(issue(record, "rates/nothing-counted").message).toContain("no rate of lime");
    expect(grid(await ratesOf(job)).lime.map((one: LooseJob) => one.unit)).toEqual(["WPG02"]);
  });
});

describe("what a job leaves out", () => {
  const note = async (change: (job: LooseJob) => void, files: Files, code: string) => {
    const {folder, job} = lay(change, files);
    const {record, stderr} = await run(job, folder);
    expect(record, stderr).toBeDefined();
    return record.issues.find((one: LooseJob) => one.code === code);
  };

  test("is told where it has rates and no products", async () => {
    const found = await note((job) => delete job.products, {}, "rates/no-products");
    expect(found.message).toContain("no rate files");
    expect(await note(() => {}, {}, "rates/no-products")).toBeUndefined();
  });

  test("is told where soils are sour and it asks for no lime", async () => {
    const withPh = (job: LooseJob) => {
      job.lab.files[0].analytes.push({analyte: "pH", column: "pH", unit: "pH", method: "water 1:1"});
    };
    const csv = (grid: string) =>
      `Sample,P,K,CEC,pH\nWPW01,30,150,12,6.0\nWPG01,21,111,12,${grid}\nWPG02,24,125,13,6.6\n`;
    const found = await note(withPh, {"lab.csv": csv("5.9")}, "lime/not-asked");
    expect([found.severity, found.message]).toEqual([
      "note",
      "Soil pH is under 6.0 in 1 of 2 units of the grid plan, and the job asks for no lime: WPG01 5.9.",
    ]);
    expect(await note(withPh, {"lab.csv": csv("6.0")}, "lime/not-asked")).toBeUndefined();
  });
});

describe("a guide that does not fit", () => {
  const refusedFor = async (change: (analytes: LooseJob) => void, depth?: string): Promise<string> => {
    const {stderr} = await cli(
      "rates",
      lay((job) => {
        change(job.lab.files[0].analytes);
        if (depth) job.lab.files[0].depth = depth;
      }).job,
    );
    return stderr;
  };

  const said =
    (key: string, value: string) =>
    (analytes: LooseJob): void => {
      analytes[0][key] = value;
    };

  test("for its state says so, and speaks of no test", async () => {
    const {stderr} = await cli("rates", lay((job) => (job.rates.state = "IA")).job);
    expect(stderr).toContain('correct "state" under "rates"');
    expect(stderr).not.toContain("toPpm");
  });

  test.each([
    ["lb/ac", said("unit", "lb/ac"), undefined, '"toPpm": true under "lab"'],
    ["Bray", said("method", "bray-1"), undefined, '"convertMethod": true under "rates"'],
    ["Olsen", said("method", "olsen"), undefined, "No relation the guide allows converts P"],
    ["6 in", () => {}, "6 in", 'correct "depth" of the file under "lab"'],
  ] as const)("names the setting that helps with %s", async (_, change, depth, way) => {
    const refusal = await refusedFor(change, depth);
    expect(refusal).toContain("does not fit unit");
    expect(refusal).toContain(way);
  });
});

describe("lime", () => {
  const limed = (job: LooseJob) => {
    job.lab.files[0].analytes.push(
      {analyte: "pH", column: "pH", unit: "pH", method: "water 1:1"},
      {analyte: "buffer pH", column: "BpH", unit: "pH", method: "sikora"},
    );
    job.lime = {method: "e-2567", targetPh: 6.5, material: {name: "quarry lime", ccePct: 90}};
  };
  const csv = "Sample,P,K,CEC,pH,BpH\nWPW01,30,150,12,6.0,6.6\nWPG01,21,111,12,5.8,6.5\nWPG02,24,125,13,6.6,7.0\n";

  test("is worked out for each unit and leaves phosphate and potash alone", async () => {
    const found = await ratesOf(lay(limed, {"lab.csv": csv}).job);
    const plain = await ratesOf(lay(undefined, {"lab.csv": csv}).job);
    const tons = Object.fromEntries(grid(found).lime.map((one: LooseJob) => [one.unit, one.tonPerAcre]));
    // 60.4 − 0.87 × 65 = 3.85 tons to pH 6.5, of 90 % as the material is; pH 6.6 needs none.
    expect(tons.WPG01).toBeCloseTo(3.85, 9);
    expect(tons.WPG02).toBe(0);
    expect(grid(found).recommendations).toEqual(grid(plain).recommendations);
  });

  test("is explained beside the rates", async () => {
    const {stdout} = await cli("rates", lay(limed, {"lab.csv": csv}).job, "--explain", "WPG01", "--quiet");
    expect(stdout).toContain("WPG01, lime");
    expect(stdout).toMatch(/3\.85 ton\/ac of quarry lime/);
  });

  test("without a pH is refused in words", async () => {
    const {code, stderr} = await cli("rates", lay((job) => (job.lime = {method: "e-2567", targetPh: 6.5})).job);
    expect([code, stderr]).toEqual([3, expect.stringContaining("no soil pH")]);
  });
});
