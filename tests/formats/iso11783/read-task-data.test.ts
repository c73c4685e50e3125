import {existsSync, readFileSync} from "node:fs";
import {describe, expect, it} from "vitest";
import {readTaskData} from "../../../src/formats/iso11783/read-task-data.ts";
import {encodeUtf8} from "../../../src/formats/text.ts";
import type {Raster} from "../../../src/grid/raster.ts";
import {box, taskData} from "./plans.ts";

const ring = (west: number, south: number, east: number, north: number, type = 1): string => {
  const points = box(west, south, east, north)[0] ?? [];
  return `<LSG A="${type}">${points.map(([lon, lat]) => `<PNT A="2" C="${lat}" D="${lon}"/>`).join("")}</LSG>`;
};
const issuesOf = (files: ReadonlyMap<string, Uint8Array>) =>
  readTaskData(files).issues.map(({code, severity, message}) => [code, severity, message]);
const codeOf = (work: () => unknown): string | undefined => {
  try {
    work();
    return undefined;
  } catch (error) {
    return (error as {code?: string}).code;
  }
};

describe("task data of other programs", () => {
  const machine = `<?xml version="1.0" encoding="utf-8"?>
<ISO11783_TaskData xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance" VersionMajor="3" VersionMinor="0"
  ManagementSoftwareManufacturer="" ManagementSoftwareVersion="" DataTransferOrigin="2" P094_Profile="x">
  <CTR A="CTR-1" B="Grower" C="Ada"/>
  <FRM A="FRM1" B="Home" I="CTR-1"/>
  <PFD A="PFD-7" C="Kiln" D="0" F="FRM1" P094_Guid="1">
    <PLN A="1">${ring(-93, 42, -92.99, 42.01)}${ring(-92.98, 42, -92.97, 42.01)}${ring(-92.976, 42.004, -92.974, 42.006, 2)}</PLN>
    <PLN A="6">${ring(-93, 42, -92.999, 42.001)}</PLN>
  </PFD>
  <VPN A="VPN1" B="0" C="8.9217912e-3" D="1" E="lb/ac"/>
  <PDT A="PDT1" B="Urea" D="VPN1"/>
  <DVC A="DVC1" B="Spreader" D="A000" F="00"><DET A="DET1" B="1" C="1" D="Bin 1" E="0" F="0"/></DVC>
  <TSK A="TSK-1" E="PFD-7" G="4" J="5">
    <TZN A="5" B="No  rate"><PDV A="6" B="22417" C="PDT1" D="DET1"/></TZN>
    <P094_Extra/>
  </TSK>
</ISO11783_TaskData>`;
  const {value, issues} = readTaskData(new Map([["card/taskdata/TaskData.xml", encodeUtf8(`\ufeff${machine}`)]]));

  it("are read with makers' own attributes, machine ids and names in any case", () => {
    expect(issues).toEqual([]);
    expect(value).toMatchObject({version: "3.0", software: "", origin: "machine"});
    expect(value.fields[0]).toMatchObject({id: "PFD-7", name: "Kiln", customer: "Ada Grower", farm: "Home"});
    expect(value.fields[0]?.statedAreaM2).toBeUndefined();
    expect(value.elements).toEqual([{id: "DET1", device: "Spreader", name: "Bin 1"}]);
  });

  it("take several outer rings of an old polygon apart, each with its hole, and leave obstacles out", () => {
    expect(value.fields[0]?.boundary.map((polygon) => polygon.length)).toEqual([1, 2]);
    expect(value.fields[0]?.boundary[0]).toEqual(box(-93, 42, -92.99, 42.01));
  });

  it("give rates in kg/ha and as the terminal shows them, by the product's presentation if the value has none", () => {
    expect(value.tasks[0]?.zones).toEqual([
      {
        code: 5,
        name: "No  rate",
        shape: [],
        values: [
          {
            ddi: 6,
            raw: 22417,
            value: 224.17,
            unit: "kg/ha",
            product: "Urea",
            element: "DET1",
            presentation: {offset: 0, scale: 0.0089217912, decimals: 1, unit: "lb/ac"},
          },
        ],
      },
    ]);
  });

  it("take in parts kept in files of their own", () => {
    const files = taskData('<XFR A="PFD00001" B="1"/><TSK A="TSK1" G="1" E="PFD1"/>', {
      "TASKDATA/PFD00001.xml": encodeUtf8('<XFC><PFD A="PFD1" C="Apart" D="0"/></XFC>'),
    });
    expect(readTaskData(files)).toMatchObject({
      value: {fields: [{name: "Apart"}], tasks: [{field: "PFD1"}]},
      issues: [],
    });
    expect(issuesOf(taskData('<XFR A="PFD00001" B="1"/>'))).toEqual([
      ["iso11783/missing-file", "error", "TASKDATA.XML refers to PFD00001.XML, which is not there."],
    ]);
  });

  it("with open or reversed rings are closed and turned", () => {
    const points = [
      [42, -93],
      [42.01, -93],
      [42.01, -92.99],
      [42, -92.99],
    ].map(([lat, lon]) => `<PNT A="2" C="${lat}" D="${lon}"/>`);
    const files = taskData(`<PFD A="PFD1" C="F" D="1"><PLN A="1"><LSG A="1">${points.join("")}</LSG></PLN></PFD>`);
    const outline = readTaskData(files).value.fields[0]?.boundary[0]?.[0];
    expect(outline).toHaveLength(5);
    expect(outline?.[1]).toEqual([-92.99, 42]);
  });
});

describe("doubtful task data", () => {
  it("name references that lead nowhere, once each", () => {
    const value = '<PDV A="0006" B="1" C="PDT3" E="VPN8"/>';
    const files = taskData(`<TSK A="TSK1" E="PFD9" G="1"><TZN A="1">${value}${value}</TZN></TSK>`);
    expect(issuesOf(files)).toEqual([
      ["iso11783/dangling-reference", "error", "Task TSK1 refers to PFD9, which is not in the file."],
      ["iso11783/dangling-reference", "error", "Zone 1 of Task TSK1 refers to PDT3, which is not in the file."],
      ["iso11783/dangling-reference", "error", "Zone 1 of Task TSK1 refers to VPN8, which is not in the file."],
    ]);
  });

  it("name a reference to the wrong kind of thing", () => {
    expect(issuesOf(taskData('<CTR A="CTR1" B="G"/><TSK A="TSK1" E="CTR1" G="1"/>'))[0]?.[2]).toBe(
      "Task TSK1 refers to CTR1, which is not the kind of thing meant there.",
    );
  });

  it("name special zones the task does not have", () => {
    expect(issuesOf(taskData('<TSK A="TSK1" G="1" H="0" I="9"><TZN A="0"><PDV A="0006" B="0"/></TZN></TSK>'))).toEqual([
      ["iso11783/missing-zone", "error", "Task TSK1 names zone 9 for a lost position, which it does not have."],
    ]);
  });

  it("name ids and zone codes used twice", () => {
    const files = taskData(
      '<PDT A="PDT1" B="Urea"/><PDT A="PDT1" B="Potash"/>' +
        '<TSK A="TSK1" G="1"><TZN A="1"><PDV A="0006" B="1" C="PDT1"/></TZN><TZN A="1"/></TSK>',
    );
    expect(issuesOf(files)).toEqual([
      ["iso11783/duplicate-id", "error", "The id PDT1 is used twice; references to it may mean either."],
      ["iso11783/duplicate-zone", "error", "Task TSK1 has more than one zone with the code 1."],
    ]);
    expect(readTaskData(files).value.tasks[0]?.zones[0]?.values[0]?.product).toBe("Urea");
  });

  it.each([
    ['<PDV A="00G6" B="1"/>', 'A value of zone 1 of Task TSK1 was left out: the identifier "00G6" cannot be read.'],
    ['<PDV B="1"/>', 'A value of zone 1 of Task TSK1 was left out: the identifier "" cannot be read.'],
    ['<PDV A="0006" B="1,5"/>', 'A value of zone 1 of Task TSK1 was left out: the value "1,5" cannot be read.'],
    ['<PDV A="0006" B=""/>', 'A value of zone 1 of Task TSK1 was left out: the value "" cannot be read.'],
    [
      '<PDV A="0006" B="3000000000"/>',
      'A value of zone 1 of Task TSK1 was left out: the value "3000000000" cannot be read.',
    ],
  ])("leave out a value they cannot read: %s", (value, message) => {
    expect(issuesOf(taskData(`<TSK A="TSK1" G="1"><TZN A="1">${value}</TZN></TSK>`))).toEqual([
      ["iso11783/bad-value", "error", message],
    ]);
  });

  it.each(["255", "-1", "x", ""])('leave out a zone with the code "%s"', (code) => {
    const files = taskData(`<TSK A="TSK1" G="1"><TZN A="${code}"><PDV A="0006" B="1"/></TZN></TSK>`);
    expect(issuesOf(files)).toEqual([
      ["iso11783/bad-zone-code", "error", `Task TSK1 has a zone with the code "${code}".`],
    ]);
  });

  it("leave out a polygon with a corner they cannot read", () => {
    const polygon = (point: string) =>
      taskData(
        `<PFD A="PFD1" C="F" D="1"><PLN A="1">${ring(-93, 42, -92.99, 42.01).replace(/<PNT[^>]*>/, point)}</PLN></PFD>`,
      );
    expect(issuesOf(polygon('<PNT A="2" C="" D="-93"/>'))[0]?.[2]).toBe(
      "A polygon of field F was left out: a corner has no position.",
    );
    expect(issuesOf(polygon('<PNT A="2" C="-93.1" D="42"/>'))[0]?.[2]).toBe(
      "A polygon of field F was left out: latitude -93.1 is impossible; longitude and latitude seem swapped.",
    );
    expect(issuesOf(polygon('<PNT A="2" C="4651200" D="465120"/>'))[0]?.[2]).toContain("are no degrees");
  });

  it("leave out a hole outside every ring and a ring without area", () => {
    const hole = `${ring(-93, 42, -92.99, 42.01)}${ring(-92.98, 42, -92.97, 42.01)}${ring(-90, 42, -89.9, 42.01, 2)}`;
    expect(issuesOf(taskData(`<PFD A="PFD1" C="F" D="1"><PLN A="1">${hole}</PLN></PFD>`))[0]?.[2]).toBe(
      "1 hole of field F outside every outer ring left out.",
    );
    const flat = ring(-93, 42, -93, 42.01);
    expect(issuesOf(taskData(`<PFD A="PFD1" C="F" D="1"><PLN A="1">${flat}</PLN></PFD>`))[0]?.[2]).toContain("no area");
  });

  it("warn when kg/ha seem to have been written where mg/m2 belong", () => {
    const files = taskData(
      '<VPN A="VPN1" B="0" C="1" D="0" E="kg/ha"/><TSK A="TSK1" G="1"><TZN A="1"><PDV A="0006" B="150" E="VPN1"/></TZN></TSK>',
    );
    expect(issuesOf(files)).toEqual([
      [
        "iso11783/presentation-scale",
        "warning",
        "VPN1 shows DDI 0006 in kg/ha by a scale of 1; the unit asks for 0.0100000.",
      ],
    ]);
    expect(readTaskData(files).value.tasks[0]?.zones[0]?.values[0]?.value).toBe(1.5);
  });
});

describe("what is no task data", () => {
  const one = (name: string, text: string) => new Map([[name, encodeUtf8(text)]]);
  it.each([
    ["no files", new Map<string, Uint8Array>(), "iso11783/no-task-data"],
    ["other files", one("rates.shp", "x"), "iso11783/no-task-data"],
    ["text that is no XML", one("TASKDATA.XML", "rates"), "xml/not-well-formed"],
    ["a document type", one("TASKDATA.XML", "<!DOCTYPE a><ISO11783_TaskData/>"), "xml/doctype"],
    ["another document", one("TASKDATA.XML", "<gpx/>"), "iso11783/not-task-data"],
    ["edition 1", one("TASKDATA.XML", '<ISO11783_TaskData VersionMajor="1"/>'), "iso11783/version"],
    ["no edition", one("TASKDATA.XML", "<ISO11783_TaskData/>"), "iso11783/version"],
    [
      "two folders",
      new Map([...one("a/TASKDATA.XML", "<a/>"), ...one("b/TASKDATA.XML", "<a/>")]),
      "iso11783/two-task-data",
    ],
    [
      "names alike but for their case",
      new Map([...taskData(""), ...one("TASKDATA/GRD00001.BIN", "1"), ...one("TASKDATA/grd00001.bin", "1")]),
      "iso11783/same-names",
    ],
  ])("is refused: %s", (_, files, code) => {
    expect(codeOf(() => readTaskData(files))).toBe(code);
  });
});

describe.skipIf(!existsSync("../shared/data/isoxml"))("open sample files (skipped: no shared data)", () => {
  const open = (folder: string) =>
    readTaskData(
      new Map(
        ["TASKDATA.XML", "GRD00001.BIN"].map((name) => [
          name,
          new Uint8Array(readFileSync(`../shared/data/isoxml/${folder}/${name}`)),
        ]),
      ),
    );

  it("with a grid of type 2: rates lie within its own boundary, which narrows to the north", () => {
    const {value, issues} = open("grid_type2_valid");
    const raster = value.tasks[0]?.grid?.layers[0]?.raster as Raster;
    // From 7.222..7.226 E at 52.223 N to 7.223..7.225 E at 52.225 N.
    const outside = (lon: number, lat: number) => Math.abs(lon - 7.224) > 0.002 - (lat - 52.223) / 2;
    // 0.05 kg/ha is the rate of the southern row, 19.05 that of the northern one.
    let disagree = 0;
    raster.values.forEach((rate, i) => {
      const lon = raster.west + ((i % 20) + 0.5) * raster.cellWidth;
      const lat = raster.north - (Math.floor(i / 20) + 0.5) * raster.cellHeight;
      if (outside(lon, lat) !== (rate === 0)) disagree++;
    });
    expect(disagree).toBe(0);
    expect(raster.values[19 * 20]).toBe(0.05);
    expect(raster.values[10]).toBe(19.05);
    // Its presentation says kg/ha for a tenth of what the data dictionary makes a hundredth.
    expect(issues.map((issue) => issue.code)).toEqual(["iso11783/presentation-scale"]);
  });

  it("with a grid of type 1: most of its cells name zones it does not have", () => {
    const {value, issues} = open("grid_type1");
    expect(value.tasks[0]?.grid?.codes?.slice(0, 5)).toEqual(Uint8Array.of(3, 7, 1, 9, 22));
    expect(issues.map((issue) => issue.code)).toEqual(["iso11783/missing-zone"]);
  });
});
