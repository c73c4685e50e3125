import {describe, expect, it} from "vitest";
import {longRecords, readLongLab} from "../../src/lab/long-table.ts";
import {completeMapping, type LabAnswer, proposeMapping} from "../../src/lab/propose-mapping.ts";
import {type LabResults, readLab} from "../../src/lab/read-lab.ts";
import {questionsAbout} from "../../src/lab/read-records.ts";
import {DEPTH_M, table, values} from "./lab-table.ts";

interface Layout {
  readonly name: string;
  readonly text: string;
  /** What the file leaves open, and what a person who has the paper report would say. */
  readonly answers?: readonly LabAnswer[];
  readonly sampleId?: string;
  /** "column: about" of every question but the depth. */
  readonly asks?: readonly string[];
  readonly gives: readonly string[];
}

const BY_WATER: LabAnswer = {column: "pH", method: "water 1:1"};

// Invented tables in the ways laboratories lay theirs out; none is a laboratory's own.
const LAYOUTS: readonly Layout[] = [
  {
    name: "units and methods in the headings",
    text: "Sample ID|P (Mehlich 3 ICP) ppm|K (Mehlich 3 ICP) ppm|pH (1:1 water)\nA1|12|140|6.2",
    gives: ["A1 P 12", "A1 K 140", "A1 pH 6.2"],
  },
  {
    name: "a row of units and a row of methods under the headings",
    text: "Sample|P|K|CEC\n|ppm|ppm|meq/100g\n|Mehlich-3 ICP|Mehlich-3 ICP|sum of cations\nA1|12|140|9.8",
    gives: ["A1 P 12", "A1 K 140", "A1 CEC 9.8"],
  },
  {
    name: "the extractant in the heading, the detection in the row below",
    text: "Bag|M3-P|M3-K\n|ICP|ICP\nA1|12|140",
    asks: ["M3-P: unit", "M3-K: unit"],
    answers: [
      {column: "M3-P", unit: "ppm"},
      {column: "M3-K", unit: "ppm"},
    ],
    gives: ["A1 P 12", "A1 K 140"],
  },
  {
    name: "underscores, base saturation and a row number of the lab",
    text: "SampleNumber|LabNum|pH_none|OM_%|P_ppm|K_ppm|CEC_meq/100g|BS-Ca_%|BS-K_%|SO4-S_ppm\n1|9001|7.0|2.4|34|161|8.2|70.4|5.1|7",
    asks: [
      "pH_none: method",
      "OM_%: method",
      "P_ppm: method",
      "K_ppm: method",
      "CEC_meq/100g: method",
      "SO4-S_ppm: method",
    ],
    answers: [
      {column: "pH_none", method: "water 1:1"},
      {column: "OM_%", method: "loss on ignition"},
      {column: "P_ppm", method: "mehlich-3 icp"},
      {column: "K_ppm", method: "mehlich-3 icp"},
      {column: "CEC_meq/100g", method: "sum of cations"},
      {column: "SO4-S_ppm", method: "mehlich-3"},
    ],
    gives: ["1 pH 7", "1 OM 2.4", "1 P 34", "1 K 161", "1 CEC 8.2", "1 S 7"],
  },
  {
    name: "weak and strong Bray side by side",
    text: "Grid|P1 (ppm)|P2 (ppm)|K NH4OAc (ppm)\nA1|12|20|140",
    gives: ["A1 P 12", "A1 P 20", "A1 K 140"],
  },
  {
    name: "lb/ac, with the ids in a column of the lab's own name",
    text: "Client Ref|Bray P1 lbs/A|Potassium lbs/A\nA1|24|280",
    asks: [": sample id", "Potassium lbs/A: method"],
    sampleId: "Client Ref",
    answers: [{column: "Potassium lbs/A", method: "ammonium acetate"}],
    gives: ["A1 P 24", "A1 K 280"],
  },
  {
    name: "full words and ratings between the numbers",
    text: "Sample No.|Phosphorus Mehlich 3 colorimetric, ppm|Phosphorus Rating|Organic Matter LOI %|Organic Matter Level\nA1|12|L|3.1|M",
    gives: ["A1 P 12", "A1 OM 3.1"],
  },
  {
    name: "Olsen phosphorus and micronutrients by DTPA",
    text: "Point|Olsen P ppm|Zinc DTPA ppm|Boron Hot Water ppm|Iron (DTPA) ppm\n7|8|0.9|0.4|22",
    gives: ["7 P 8", "7 Zn 0.9", "7 B 0.4", "7 Fe 22"],
  },
  {
    name: "a lime index and the fertilizer advice of the lab",
    text: "Sample|pH|Lime Index (Sikora)|P2O5 Rec lb/ac|Lime Need t/ac\nA1|5.8|66|40|2.0",
    asks: ["pH: method"],
    answers: [BY_WATER],
    gives: ["A1 pH 5.8", "A1 buffer pH 6.6"],
  },
  {
    name: "field, farm and coordinates before the results",
    text: "Grower|Farm|Field|Lat|Lon|Label|K Mehlich-3 ppm\nG|F|North|40.5|-86.4|A1|140",
    gives: ["A1 K 140"],
  },
  {
    name: "field-moist potassium",
    text: "Site|K field-moist Mehlich-3 (ppm)|P Mehlich-3 ICP (ppm)\nA1|88|20",
    gives: ["A1 K 88", "A1 P 20"],
  },
  {
    name: "a decimal comma",
    text: "Sample|P Olsen mg/kg|pH H2O\nA1|12,5|6,4\nA2|9,1|6,0",
    gives: ["A1 P 12.5", "A1 pH 6.4", "A2 P 9.1", "A2 pH 6"],
  },
  {
    name: "Mehlich-3 that does not say its detection",
    text: "Sample|Mehlich III P ppm|Mehlich III K ppm\nA1|12|140",
    asks: ["Mehlich III P ppm: method"],
    answers: [{column: "Mehlich III P ppm", method: "mehlich-3 icp"}],
    gives: ["A1 P 12", "A1 K 140"],
  },
  {
    name: "cations in meq, of which the percents are passed over",
    text: "Sample|Ca Mehlich-3 ppm|% Ca|K %|Mg M3 ppm\nA1|1600|52.6|2.6|240",
    gives: ["A1 Ca 1600", "A1 Mg 240"],
  },
];

function read({text, answers = [], sampleId}: Layout): LabResults {
  const file = table(text);
  const proposal = proposeMapping(file);
  const mapping = completeMapping(proposal, {depthM: DEPTH_M, answers, ...(sampleId && {sampleId})});
  return readLab(file, mapping, {decimal: proposal.decimal});
}

describe.each(LAYOUTS)("a table with $name", (layout) => {
  it("asks for what it does not say, and for nothing else", () => {
    const {questions} = proposeMapping(table(layout.text));
    const asked = questions.filter(({about}) => about !== "depth").map(({column = "", about}) => `${column}: ${about}`);
    expect(asked).toEqual(layout.asks ?? []);
  });

  it("gives its results", () => {
    expect(values(read(layout))).toEqual(layout.gives);
  });

  it("is not read while a question is open", () => {
    if (!layout.asks) return;
    expect(() => read({...layout, answers: [], sampleId: ""})).toThrow(
      expect.objectContaining({code: expect.stringMatching(/^lab\/(unanswered|no-column)$/)}),
    );
  });
});

it("every column is told how it was read", () => {
  const {columns} = proposeMapping(table(LAYOUTS[8]?.text ?? ""));
  expect(columns.map(({readAs}) => readAs)).toEqual([
    "sample id",
    "pH",
    "buffer pH by sikora",
    "passed over: recommendation",
    "passed over: recommendation",
  ]);
});

it("a column can be left out instead of answered", () => {
  const layout = LAYOUTS[12] as Layout;
  const result = read({...layout, answers: [{column: "Mehlich III P ppm", leaveOut: true}]});
  expect(values(result)).toEqual(["A1 K 140"]);
});

describe("one row a result", () => {
  const LONG = [
    "Sample ID|Field|Date|Depth|Analyte|Method|Result|Units",
    "A1|North|2025-04-02|0-8 in|P|Mehlich 3 ICP|12|ppm",
    "A1|North|2025-04-02|0-8 in|Potassium|Mehlich 3|140|ppm",
    "A1|North|2025-04-02|0-8 in|pH|1:1 water|6.2|",
    "A2|North|2025-04-02|0-8 in|P|Mehlich 3 ICP|<1|ppm",
    "A2|North|2025-04-02|0-8 in|Nitrate-N|KCl|8|ppm",
    "B1|South|2025-04-03|0-8 in|P|Mehlich 3 ICP|31|ppm",
  ].join("\n");
  const mappingOf = (text: string) => {
    const {layout, sampleId, long} = proposeMapping(table(text));
    expect(layout).toBe("long");
    return {sampleId: sampleId as string, ...(long as NonNullable<typeof long>)};
  };

  it("is recognised and read, one field and day to each sample", () => {
    const result = readLongLab(table(LONG), mappingOf(LONG));
    expect(values(result)).toEqual(["A1 P 12", "A1 K 140", "A1 pH 6.2", "A2 P <1", "B1 P 31"]);
    expect(result.tests[0]).toMatchObject({
      field: "North",
      date: "2025-04-02",
      depthM: DEPTH_M,
      method: "mehlich-3 icp",
    });
    expect(result.issues.map(({code}) => code)).toContain("lab/analyte-passed-over");
  });

  it("takes one field of several", () => {
    const result = readLongLab(table(LONG), {...mappingOf(LONG), only: {field: "south"}});
    expect(values(result)).toEqual(["B1 P 31"]);
    expect(() => readLongLab(table(LONG), {...mappingOf(LONG), only: {field: "West"}})).toThrow("no results for West");
  });

  it("asks for a depth, a unit and a method the rows do not give, by name of the analyte", () => {
    const text = "Sample|Parameter|Value\nA1|P|12\nA1|OM|3.1";
    const mapping = mappingOf(text);
    const questions = questionsAbout("lab.csv", longRecords(table(text), mapping));
    expect(questions.map(({column, about}) => `${column ?? ""}: ${about}`)).toEqual([
      "P: unit",
      "P: method",
      ": depth",
      "OM: method",
      ": depth",
    ]);
    const result = readLongLab(table(text), {
      ...mapping,
      depthM: DEPTH_M,
      answers: [
        {column: "P", unit: "ppm", method: "olsen"},
        {column: "OM", method: "loss on ignition"},
      ],
    });
    expect(values(result)).toEqual(["A1 P 12", "A1 OM 3.1"]);
  });

  it("keeps a result that stands twice once and says so; two that differ stop the import", () => {
    const twice = `${LONG}\nA1|North|2025-04-02|0-8 in|P|Mehlich 3 ICP|12|ppm`;
    const result = readLongLab(table(twice), mappingOf(twice));
    expect(values(result)).toHaveLength(5);
    expect(result.issues.map(({code}) => code)).toContain("lab/duplicate");
    const differs = twice.replace(/12\|ppm$/, "13|ppm");
    expect(() => readLongLab(table(differs), mappingOf(differs))).toThrow(
      expect.objectContaining({code: "lab/duplicate-differs"}),
    );
  });

  it("one id in two fields, on two days or at two depths stops the import until one is chosen", () => {
    for (const row of [
      "A1|South|2025-04-02|0-8 in|K|Mehlich 3|90|ppm",
      "A1|North|2021-04-02|0-8 in|K|Mehlich 3|90|ppm",
      "A1|North|2025-04-02|8-24 in|K|Mehlich 3|90|ppm",
    ]) {
      const text = `${LONG}\n${row}`;
      const read = (only?: {field: string; date: string; depthM: number}) =>
        readLongLab(table(text), {...mappingOf(text), ...(only && {only})});
      expect(() => read()).toThrow(expect.objectContaining({code: "lab/id-in-several-groups"}));
      const chosen = read({field: "North", date: "2025-04-02", depthM: 0.2032});
      expect(values(chosen)).toContain("A1 K 140");
    }
  });

  it("oxides, unknown units and answers against the file are refused", () => {
    const of = (row: string) => `Sample|Parameter|Value|Unit|Method\n${row}`;
    const read = (row: string, answers: LabAnswer[] = []) =>
      readLongLab(table(of(row)), {...mappingOf(of(row)), depthM: DEPTH_M, answers});
    expect(() => read("A1|P2O5|40|ppm|olsen")).toThrow(expect.objectContaining({code: "lab/oxide"}));
    expect(() => read("A1|P|40|bushels|olsen")).toThrow(expect.objectContaining({code: "lab/unanswered"}));
    expect(() => read("A1|P|40|ppm|olsen", [{column: "P", unit: "lb/ac"}])).toThrow(
      expect.objectContaining({code: "lab/unit-differs"}),
    );
  });
});
