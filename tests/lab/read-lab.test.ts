import {describe, expect, it} from "vitest";
import {readLab} from "../../src/lab/read-lab.ts";
import {codes, DEPTH_M, K_ICP, mapping, P_ICP, readTable, table, values} from "./lab-table.ts";

const onlyP = {analytes: [P_ICP]};

describe("a clean lab table", () => {
  it("gives every value with its method, unit, depth and place in the file", () => {
    const {tests, issues} = readTable("ID|P|K\nA1|12|140\nA2|31.5|96");
    expect(tests).toEqual([
      {
        sampleId: "A1",
        analyte: "P",
        value: 12,
        unit: "mg/kg",
        method: "mehlich-3 icp",
        depthM: DEPTH_M,
        source: {file: "lab.csv", row: 2, column: "P"},
      },
      expect.objectContaining({sampleId: "A1", analyte: "K", value: 140}),
      expect.objectContaining({
        sampleId: "A2",
        analyte: "P",
        value: 31.5,
        source: {file: "lab.csv", row: 3, column: "P"},
      }),
      expect.objectContaining({sampleId: "A2", analyte: "K", value: 96}),
    ]);
    expect(issues).toEqual([]);
  });

  it("is not changed by reading it", () => {
    const input = table("ID|P|K\nA1|12|140\n a1 |12|140");
    const before = structuredClone(input);
    readLab(input, mapping());
    expect(input).toEqual(before);
  });

  it("reads every analyte the program knows, each by a method of its own", () => {
    const analytes = [
      ["P", "ppm", "olsen"],
      ["K", "lb/ac", "ammonium acetate"],
      ["Ca", "ppm", "Mehlich 3 ICP"],
      ["Mg", "mg/kg", "mehlich-3"],
      ["S", "ppm", "monocalcium phosphate"],
      ["Zn", "ppm", "DTPA"],
      ["B", "ppm", "hot water"],
      ["Mn", "ppm", "dtpa"],
      ["Fe", "ppm", "dtpa"],
      ["Cu", "ppm", "dtpa"],
      ["pH", "s.u.", "water 1:1"],
      ["buffer pH", "pH", "sikora"],
      ["OM", "percent", "loss on ignition"],
      ["CEC", "cmol(+)/kg", "sum of cations"],
    ].map(([analyte = "", unit, method]) => ({analyte, column: `c ${analyte}`, unit, method}));
    const cells = [14, 260, 1600, 240, 9, 1.2, 0.6, 40, 80, 1.1, 6.2, 6.8, 3.1, 12.4];
    const text = `ID|${analytes.map(({column}) => column).join("|")}\nA1|${cells.join("|")}`;
    const {tests, issues} = readTable(text, {analytes});
    expect(tests.map(({value}) => value)).toEqual(cells);
    expect(issues).toEqual([]);
  });
});

describe("a dirty cell is never silence and never zero", () => {
  // sampling.md 3.3: these words stand for missing or below detection.
  it.each([
    ["blank", "", "lab/missing"],
    ["a dash", "-", "lab/missing"],
    ["a star", "*", "lab/missing"],
    ["NS", "NS", "lab/missing"],
    ["N/A", "N/A", "lab/missing"],
    ["NA in lower case with spaces", "  na ", "lab/missing"],
    ["a spreadsheet's missing value", "#N/A", "lab/missing"],
    ["not tested", "Not tested", "lab/missing"],
    ["ND", "ND", "lab/no-detection-limit"],
    ["BDL", "BDL", "lab/no-detection-limit"],
    ["trace", "Trace", "lab/no-detection-limit"],
    ["a limit that is not given", "<", "lab/no-detection-limit"],
    ["a limit of zero", "<0", "lab/no-detection-limit"],
    ["a class in words", "Very Low", "lab/not-a-number"],
    ["a number with text behind it", "12abc", "lab/not-a-number"],
    ["a range", "10-15", "lab/not-a-number"],
    ["two points", "1.2.3", "lab/not-a-number"],
    ["a decimal comma in a file with points", "12,5", "lab/not-a-number"],
    ["a spreadsheet error", "#DIV/0!", "lab/not-a-number"],
    ["infinity", "Infinity", "lab/not-a-number"],
    ["another unit than the column's", "24 lb/ac", "lab/not-a-number"],
    ["a negative number", "-4", "lab/impossible"],
    ["more P than soil can hold", "2400", "lab/impossible"],
  ])("%s", (_, cell, code) => {
    const {tests, issues} = readTable(`ID|P|K\nA1|${cell}|140\nA2|18|150`);
    expect(tests.map(({sampleId, analyte}) => `${sampleId} ${analyte}`)).toEqual(["A1 K", "A2 P", "A2 K"]);
    expect(codes(issues)).toEqual([code]);
    expect(issues[0]?.place).toEqual({file: "lab.csv", row: 2, column: "P"});
    if (cell.trim() && code !== "lab/missing") expect(issues[0]?.message).toContain(`"${cell.trim()}"`);
  });

  it.each([
    ["a detection limit", "<1", "A1 P <1"], // sampling.md check 46
    ["a detection limit with spaces", " < 1.5 ", "A1 P <1.5"],
    ["at or below a limit", "≤2", "A1 P <2"],
    ["the top of the reading range", ">200", "A1 P >200"],
    ["the column's own unit", "12 ppm", "A1 P 12"],
    ["outer spaces", "  12.50 ", "A1 P 12.5"],
  ])("but %s is kept", (_, cell, value) => {
    const result = readTable(`ID|P (ppm)\nA1|${cell}`, {analytes: [{...P_ICP, column: "P (ppm)"}]});
    expect(values(result)).toEqual([value]);
    expect(result.issues).toEqual([]);
  });

  it.each([
    ["a rating behind the number", "12 L", "A1 P 12", "lab/rating-in-cell"],
    ["a footnote star", "12*", "A1 P 12", "lab/rating-in-cell"],
    ["an unusually high value", "310", "A1 P 310", "lab/unusual"],
    ["a zero", "0", "A1 P 0", "lab/unusual"],
  ])("and %s is kept with a remark", (_, cell, value, code) => {
    const result = readTable(`ID|P (ppm)\nA1|${cell}`, {analytes: [{...P_ICP, column: "P (ppm)"}]});
    expect(values(result)).toEqual([value]);
    expect(codes(result.issues)).toEqual([code]);
  });

  it("and a comma between thousands is read, with a remark", () => {
    const calcium = {analyte: "Ca", column: "Ca", unit: "ppm", method: "mehlich-3"};
    const result = readTable("ID|Ca\nA1|1,150\nA2|980", {analytes: [calcium]});
    expect(values(result)).toEqual(["A1 Ca 1150", "A2 Ca 980"]);
    expect(codes(result.issues)).toEqual(["lab/thousands"]);
  });

  it("tells cells of one kind in one sentence with all rows", () => {
    const rows = Array.from({length: 40}, (_, i) => `A${i}|${i < 12 ? "" : "18"}|140`).join("\n");
    const {issues} = readTable(`ID|P|K\n${rows}`);
    expect(issues).toHaveLength(1);
    expect(issues[0]?.message).toBe('Column "P" (P): no result in rows 2, 3, 4, 5, 6, 7 and 6 more.');
  });

  it("reads decimal commas when told to", () => {
    const result = readTable("ID|P|K\nA1|12,5|140\nA2|18|96,25", {}, {decimal: ","});
    expect(values(result)).toEqual(["A1 P 12.5", "A1 K 140", "A2 P 18", "A2 K 96.25"]);
  });
});

describe("rows that are no samples", () => {
  it.each([
    ["averages at the foot", "A1|12|140\nAverage|12|140", "lab/summary-row"],
    ["a minimum", "A1|12|140\nMIN|12|140", "lab/summary-row"],
    ["a total with a colon", "A1|12|140\nTotal:|12|140", "lab/summary-row"],
    ["units under the header", "|ppm|ppm\nA1|12|140", "lab/unit-row"],
    ["units in brackets", "Unit|(ppm)|mg/kg\nA1|12|140", "lab/unit-row"],
    ["the header again on the next page", "A1|12|140\nID|P|K", "lab/header-row"],
    ["a remark under the table", "A1|12|140\nEnd of report||", "lab/empty-row"],
    ["methods under the header", "|ICP|ICP\nA1|12|140", "lab/empty-row"],
    ["results without a sample id", "A1|12|140\n|18|150", "lab/no-sample-id"],
    ["an id that became a date", "2-Jan|12|140", "lab/id-looks-damaged"],
    ["an id that became a US date", "1/2/2025|12|140", "lab/id-looks-damaged"],
    ["an id that became a rounded number", "1.00E+05|12|140", "lab/id-looks-damaged"],
  ])("%s", (_, rows, code) => {
    const result = readTable(`ID|P|K\n${rows}`);
    expect(result.tests).toHaveLength(2); // one sample, P and K
    expect(codes(result.issues)).toEqual([code]);
    expect(result.issues[0]?.place?.row).toBeGreaterThan(1);
  });

  it("passes over blank rows without a word, and keeps file row numbers", () => {
    const {tests, issues} = readTable("ID|P|K\n||\nA1|12|140\n||");
    expect(tests[0]?.source.row).toBe(3);
    expect(issues).toEqual([]);
  });

  it("takes only the rows of one field and depth when asked", () => {
    const text = "Field|Depth|ID|P|K\nMillrace|0-8|1|12|140\nKiln|0-8|1|30|200\nmillrace |8-24|1|5|90";
    const only = [
      {column: "Field", is: "Millrace"},
      {column: "Depth", is: "0-8"},
    ];
    const result = readTable(text, {only});
    expect(values(result)).toEqual(["1 P 12", "1 K 140"]);
    expect(result.issues[0]?.message).toBe(
      '2 rows were left out because only rows where Field is "Millrace" and Depth is "0-8" were asked for.',
    );
  });
});

describe("two rows for one sample", () => {
  it("are one sample with a warning when they say the same", () => {
    const result = readTable("ID|P|K\nA1|12|140\na1 |12.0|140");
    expect(values(result)).toEqual(["A1 P 12", "A1 K 140"]);
    expect(codes(result.issues)).toEqual(["lab/duplicate"]);
    expect(result.issues[0]?.message).toContain("rows 2 and 3");
  });

  it("are put together when each holds what the other lacks", () => {
    const result = readTable("ID|P|K\nA1|12|\nA1||140");
    expect(values(result)).toEqual(["A1 P 12", "A1 K 140"]);
    expect(codes(result.issues)).toContain("lab/rows-put-together");
  });

  it("stop the import when they differ, naming both rows", () => {
    // sampling.md check 70: duplicate id with different P.
    const read = () => readTable("ID|P|K\nA1|12|140\nA2|9|90\nA1|18|140");
    expect(read).toThrow('Sample "A1" stands in rows 2 and 4 with different values of P: 12 and 18.');
    expect(read).toThrow(expect.objectContaining({code: "lab/duplicate-differs"}));
  });

  it("tell every contradiction in one go", () => {
    const read = () => readTable("ID|P|K\nA1|12|140\nA1|18|150");
    expect(read).toThrow(
      expect.objectContaining({issues: [expect.objectContaining({place: {file: "lab.csv", row: 3, column: "K"}})]}),
    );
  });

  it("differ when one is a detection limit", () => {
    expect(() => readTable("ID|P\nA1|1\nA1|<1", onlyP)).toThrow("different values of P: 1 and <1");
  });

  it("are two samples when only zeros tell them apart", () => {
    const result = readTable("ID|P\n007|12\n7|18", onlyP);
    expect(values(result)).toEqual(["007 P 12", "7 P 18"]);
    expect(result.issues).toEqual([]);
  });
});

describe("a buffer pH column", () => {
  const buffer = {analytes: [{analyte: "buffer pH", column: "LTI", unit: "pH", method: "smp"}]};

  it("printed as a lime index is divided by 10, and says so", () => {
    const result = readTable("ID|LTI\nA1|66\nA2|6.9", buffer); // sampling.md check 45: 66 is 6.6
    expect(values(result)).toEqual(["A1 buffer pH 6.6", "A2 buffer pH 6.9"]);
    expect(result.issues[0]?.message).toBe(
      'Column "LTI" (buffer pH): "66" in row 2 is a lime index; divided by 10 it is the buffer pH.',
    );
  });

  it("may be blank where the soil needs no lime", () => {
    const {issues} = readTable("ID|LTI|P\nA1|6.6|20\nA2||21", {analytes: [...buffer.analytes, P_ICP]});
    expect(issues.map(({code, severity}) => [code, severity])).toEqual([["lab/missing", "note"]]);
  });

  it("cannot read above its own buffer", () => {
    // SMP buffer starts at pH 7.5, Mehlich buffer at 6.6 (from memory).
    expect(codes(readTable("ID|LTI\nA1|7.6\nA2|7.0", buffer).issues)).toEqual(["lab/impossible"]);
    const mehlich = {analytes: [{analyte: "buffer pH", column: "LTI", unit: "pH", method: "mehlich buffer"}]};
    expect(codes(readTable("ID|LTI\nA1|7.0\nA2|6.2", mehlich).issues)).toEqual(["lab/impossible"]);
  });
});

describe("a doubtful unit", () => {
  it("is asked about when half of the P results are high for ppm and the heading is silent", () => {
    const rows = [60, 85, 90, 120, 150].map((p, i) => `A${i}|${p}`).join("\n");
    expect(codes(readTable(`ID|P\n${rows}`, onlyP).issues)).toEqual(["lab/unit-doubtful"]);
    const stated = {analytes: [{...P_ICP, column: "P_ppm"}]};
    expect(readTable(`ID|P_ppm\n${rows}`, stated).issues).toEqual([]);
  });

  it("shows when Ca, Mg and K add to more than the CEC", () => {
    // Ca 1150, Mg 240, K 161 ppm make 8.2 meq/100 g (sampling.md check 43); in lb/ac they would be 16.3.
    const analytes = [
      {analyte: "Ca", column: "Ca", unit: "ppm", method: "mehlich-3"},
      {analyte: "Mg", column: "Mg", unit: "ppm", method: "mehlich-3"},
      {...K_ICP},
      {analyte: "CEC", column: "CEC", unit: "meq/100g", method: "sum of cations"},
    ];
    const head = "ID|Ca|Mg|K|CEC";
    expect(readTable(`${head}\nA1|1150|240|161|8.2`, {analytes}).issues).toEqual([]);
    expect(codes(readTable(`${head}\nA1|2300|480|322|8.2`, {analytes}).issues)).toEqual(["lab/cations-exceed-cec"]);
  });
});
