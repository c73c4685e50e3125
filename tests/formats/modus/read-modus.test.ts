import {existsSync, readFileSync} from "node:fs";
import {describe, expect, it} from "vitest";
import {readModus} from "../../../src/formats/modus/read-modus.ts";
import {chooseRecords, labGroups} from "../../../src/lab/choose-records.ts";
import {matchTests} from "../../../src/lab/match-tests.ts";
import {questionsAbout, readRecords} from "../../../src/lab/read-records.ts";

const bytes = (text: string): Uint8Array => new TextEncoder().encode(text);

const xmlResult = (element: string, value: string, unit: string, code = ""): string =>
  `<NutrientResult><Element>${element}</Element><Value>${value}</Value><ValueUnit>${unit}</ValueUnit>${code && `<ModusTestID>${code}</ModusTestID>`}</NutrientResult>`;

const xmlSample = (id: string, results: string, more = ""): string =>
  `<SoilSample><SampleMetaData><SampleNumber>9</SampleNumber><FMISSampleID>${id}</FMISSampleID>${more}</SampleMetaData>
   <Depths><Depth DepthID="1"><NutrientResults>${results}</NutrientResults></Depth></Depths></SoilSample>`;

const xmlEvent = (field: string, date: string, samples: string): string =>
  `<Event><EventMetaData><EventDate>${date}T12:00:00</EventDate><EventType><Soil/></EventType></EventMetaData>
   <FMISMetaData><FMISProfile><Field>${field}</Field></FMISProfile></FMISMetaData>
   <EventSamples><Soil><DepthRefs><DepthRef DepthID="1"><EndingDepth>8</EndingDepth><DepthUnit>in</DepthUnit></DepthRef></DepthRefs>
   ${samples}</Soil></EventSamples></Event>`;

const XML = `<?xml version="1.0"?><ModusResult Version="1.0">
  ${xmlEvent(
    "North",
    "2025-04-02",
    xmlSample("MRZ1", xmlResult("P", "12", "ppm", "S-P-M3.04") + xmlResult("K", "140", "ppm", "S-K-M3.05")) +
      xmlSample(
        "MRZ2",
        xmlResult("P", "31", "ppm", "S-P-M3.04"),
        '<Geometry epsg="4326">POINT (-86.4 40.55)</Geometry>',
      ),
  )}
  ${xmlEvent("South", "2025-04-03", xmlSample("KFZ1", xmlResult("P", "18", "ppm", "S-P-M3.01.03")))}
</ModusResult>`;

describe("a Modus 1 document", () => {
  const report = readModus(bytes(XML), "lab.xml");

  it("gives each result with its field, day, depth and the method its code names", () => {
    expect(report.records).toEqual([
      {
        sampleId: "MRZ1",
        field: "North",
        date: "2025-04-02",
        depthM: expect.closeTo(0.2032, 9),
        analyte: "P",
        value: "12",
        unit: "ppm",
        method: "mehlich-3 icp",
        row: 1,
      },
      expect.objectContaining({sampleId: "MRZ1", analyte: "K", method: "mehlich-3", row: 2}),
      expect.objectContaining({sampleId: "MRZ2", value: "31"}),
      expect.objectContaining({sampleId: "KFZ1", field: "South", date: "2025-04-03", method: "mehlich-3 colorimetric"}),
    ]);
    expect(report.issues).toEqual([]);
    expect(report.samples.map(({sampleId, point}) => [sampleId, point])).toEqual([
      ["MRZ1", undefined],
      ["MRZ2", [-86.4, 40.55]],
      ["KFZ1", undefined],
    ]);
  });

  it("holds several fields and days, one of which can be taken", () => {
    expect(labGroups(report.records).map(({field, date, samples}) => [field, date, samples])).toEqual([
      ["North", "2025-04-02", 2],
      ["South", "2025-04-03", 1],
    ]);
    const {tests} = readRecords("lab.xml", chooseRecords(report.records, {field: "North"}));
    expect(tests.map(({sampleId, analyte, value}) => [sampleId, analyte, value])).toEqual([
      ["MRZ1", "P", 12],
      ["MRZ1", "K", 140],
      ["MRZ2", "P", 31],
    ]);
    const matched = matchTests(tests, ["MRZ1", "MRZ2", "MRZ3"]);
    expect(matched.counts.sentence).toBe("3 samples planned, 2 with results, 0 unknown ids");
  });

  it("keeps methods it does not know as questions; Modus 2 codes are among them", () => {
    for (const code of ["L_MODV2_SOIL_P_033", "S-P-M3BRAYP1.19", ""]) {
      const {records} = readModus(
        bytes(xmlEvent("N", "2025", xmlSample("A", xmlResult("P", "12", "", code)))),
        "lab.xml",
      );
      const asked = questionsAbout("lab.xml", records).map(({about}) => about);
      expect(asked).toEqual(["unit", "method"]);
      expect(() => readRecords("lab.xml", records)).toThrow(expect.objectContaining({code: "lab/unanswered"}));
    }
  });

  it("is read with elements in any order, prefixes, other spellings and parts missing", () => {
    const loose = `<m:modusresult xmlns:m="x"><Event><EventSamples><Soil>
      <SoilSample><Depths><Depth DepthID="1"><NutrientResults>
        <NutrientResult><ValueUnit>ppm</ValueUnit><value>12</value><element>P</element></NutrientResult>
      </NutrientResults></Depth></Depths><SampleMetaData><SampleContainerID>B7</SampleContainerID></SampleMetaData></SoilSample>
      <SoilSample><SampleMetaData><SampleContainerID>B8</SampleContainerID></SampleMetaData></SoilSample>
      </Soil></EventSamples></Event></m:modusresult>`;
    const {records, issues} = readModus(bytes(loose), "lab.xml");
    expect(records.map(({sampleId, analyte, value, depthM}) => [sampleId, analyte, value, depthM])).toEqual([
      ["B7", "P", "12", undefined],
    ]);
    expect(issues.map(({code}) => code)).toEqual(["modus/no-results", "modus/lab-ids"]);
  });

  it("uses one kind of id for the whole document", () => {
    const mixed = XML.replace("<FMISSampleID>MRZ2</FMISSampleID>", "<FMISSampleID/>");
    const {samples, issues} = readModus(bytes(mixed), "lab.xml");
    expect(samples.map(({sampleId}) => sampleId)).toEqual(["9", "9", "9"]);
    expect(issues.map(({code}) => code)).toEqual(["modus/lab-ids"]);
  });
});

describe("the JSON form", () => {
  const results = [
    {Element: "P", Value: 12, ValueUnit: "ppm", ModusTestID: "S-P-M3.04"},
    {Element: "pH", Value: 6.2, ValueUnit: "none", ModusTestID: "S-PH-1:1.02.07"},
  ];
  const event = (depthRefs: unknown, depths: unknown) => ({
    EventMetaData: {EventDate: "2025-04-02", EventType: {Soil: true}},
    FMISMetadata: {FMISProfile: {Field: "North"}},
    EventSamples: {
      Soil: {DepthRefs: depthRefs, SoilSamples: [{SampleMetaData: {FMISSampleID: "MRZ1"}, Depths: depths}]},
    },
  });
  const listed = event([{DepthID: "1", EndingDepth: 8, DepthUnit: "in"}], [{DepthID: "1", NutrientResults: results}]);
  const keyed = event(
    {1: {EndingDepth: 8, DepthUnit: "in"}},
    {
      1: {
        NutrientResults: {
          P: {Value: 12, ValueUnit: "ppm", ModusTestID: "S-P-M3.04"},
          pH: {Value: 6.2, ValueUnit: "none", ModusTestID: "S-PH-1:1.02.07"},
        },
      },
    },
  );

  it.each([
    ["lists", {Events: [listed]}],
    ["objects with keys", {Events: [keyed]}],
    ["a wrapper", {ModusResult: {Events: [listed]}}],
  ])("with %s gives what the XML form gives", (_, document) => {
    const {records} = readModus(bytes(JSON.stringify(document)), "lab.json");
    expect(readRecords("lab.json", records).tests).toEqual([
      expect.objectContaining({sampleId: "MRZ1", analyte: "P", value: 12, method: "mehlich-3 icp", field: "North"}),
      expect.objectContaining({analyte: "pH", value: 6.2, method: "water 1:1", depthM: expect.closeTo(0.2032, 9)}),
    ]);
  });

  it("in its short form", () => {
    const slim = {
      _type: "application/vnd.modus.slim.v1.0+json",
      id: "x",
      date: "2025-04-02",
      type: "soil",
      depth: {top: 0, bottom: 20, units: "cm"},
      samples: {
        abc: {
          id: "MRZ1",
          geolocation: {lat: 40.55, lon: -86.4},
          results: {r1: {analyte: "P", value: "<1", units: "mg/kg", modusTestID: "S-P-M3.04"}},
        },
        def: {
          id: "MRZ2",
          depth: {top: 0, bottom: 6, units: "in"},
          results: {r1: {analyte: "OM", value: 3, units: "%"}},
        },
      },
    };
    const {records, samples} = readModus(bytes(JSON.stringify(slim)), "lab.json");
    expect(samples[0]).toEqual({sampleId: "MRZ1", field: "", date: "2025-04-02", point: [-86.4, 40.55]});
    const {tests} = readRecords("lab.json", records, {answers: [{column: "OM", method: "loss on ignition"}]});
    expect(tests).toEqual([
      expect.objectContaining({sampleId: "MRZ1", value: 1, qualifier: "<", depthM: 0.2}),
      expect.objectContaining({sampleId: "MRZ2", value: 3, depthM: expect.closeTo(0.1524, 9)}),
    ]);
  });
});

describe("what is no report", () => {
  it.each([
    ["modus/request", "<ModusSubmit><Event/></ModusSubmit>"],
    ["modus/request", '{"ModusSubmit": {}}'],
    ["modus/no-samples", "<html><body/></html>"],
    ["modus/no-samples", "[]"],
    ["modus/no-samples", '{"samples": {}}'],
    ["modus/not-json", "P,K\n1,2"],
    ["xml/not-well-formed", "<ModusResult><Event>"],
    ["xml/doctype", '<!DOCTYPE x [<!ENTITY a "b">]><ModusResult/>'],
  ])("%s", (code, text) => {
    expect(() => readModus(bytes(text), "lab")).toThrow(expect.objectContaining({code}));
  });
});

const shared = new URL("../../../../shared/data/modus/", import.meta.url);
describe.skipIf(!existsSync(shared))("an open example of 20 samples (skipped: no shared data)", () => {
  const file = new URL("field50_result_hand.xml", shared);
  const answers = [
    {column: "P", method: "mehlich-3 icp"},
    {column: "K", method: "mehlich-3 icp"},
    {column: "Ca", method: "mehlich-3 icp"},
    {column: "Mg", method: "mehlich-3 icp"},
    {column: "SO4-S", method: "mehlich-3 icp"},
    {column: "Zn", method: "mehlich-3 icp"},
    {column: "Mn", method: "mehlich-3 icp"},
    {column: "B", method: "mehlich-3 icp"},
    {column: "pH", method: "water 1:1"},
    {column: "BpH", method: "sikora"},
    {column: "OM", method: "loss on ignition"},
    {column: "CEC", method: "sum of cations"},
  ];

  it("gives the numbers of the table that was written from the same report", () => {
    const {records, samples} = readModus(readFileSync(file), "field50.xml");
    expect(samples).toHaveLength(20);
    const {tests, issues} = readRecords("field50.xml", records, {answers});
    const [head = "", ...rows] = readFileSync(new URL("field50_result_hand_wide.csv", shared), "utf8")
      .trim()
      .split(/\r?\n/);
    const columns = head.split(",");
    const names: Record<string, string> = {BpH_none: "buffer pH", "SO4-S_ppm": "S"};
    let compared = 0;
    for (const row of rows) {
      const cells = row.split(",");
      for (const [i, column] of columns.entries()) {
        if (i < 3 || column.startsWith("BS-") || cells[i] === "") continue;
        const analyte = names[column] ?? column.split("_")[0];
        const found = tests.find((test) => test.sampleId === cells[0] && test.analyte === analyte);
        expect(found?.value, `${column} of ${cells[0]}`).toBe(Number(cells[i]));
        expect(found?.depthM).toBeCloseTo(0.2032, 9);
        compared++;
      }
    }
    expect(compared).toBe(tests.length);
    // Base saturation is no soil test of ours; nothing else is passed over.
    const passed = issues.filter(({code}) => code === "lab/analyte-passed-over").map(({message}) => message);
    expect(passed.every((message) => message.startsWith('"BS-'))).toBe(true);
  });

  it("a request form of the same standard is told from a report", () => {
    const submit = readFileSync(new URL("soil_submit_example.xml", shared));
    expect(() => readModus(submit, "submit.xml")).toThrow(expect.objectContaining({code: "modus/request"}));
  });
});
