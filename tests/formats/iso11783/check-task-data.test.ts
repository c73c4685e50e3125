import {describe, expect, it} from "vitest";
import {checkTaskData} from "../../../src/formats/iso11783/check-task-data.ts";
import {encodeUtf8} from "../../../src/formats/text.ts";
import {grid, map, planOf, twoZones, written, xmlOf} from "./plans.ts";

/** What the check says after one change to sound task data. */
function codesAfter(change: (xml: string) => string, files = written(twoZones()).files): string[] {
  const xml = xmlOf(files);
  const changed = change(xml);
  expect(changed).not.toBe(xml);
  return checkTaskData(new Map([...files, ["TASKDATA/TASKDATA.XML", encodeUtf8(changed)]])).map((issue) => issue.code);
}
const gridFiles = (type: 1 | 2) => written(planOf([map], {grid: grid(type, [1, 2, 3], [4, 5, 6])})).files;

describe("the check of task data", () => {
  it("finds nothing in what is written", () => {
    expect(checkTaskData(written(twoZones()).files)).toEqual([]);
    expect(checkTaskData(gridFiles(1))).toEqual([]);
    expect(checkTaskData(gridFiles(2))).toEqual([]);
  });

  it("takes zone code 254, the highest there is", () => {
    expect(codesAfter((xml) => xml.replace('TSK A="TSK1"', 'TSK A="TSK12"'))).toEqual([]);
    expect(written(twoZones()).xml).toContain('TZN A="254"');
  });

  // The first group fails the published schemas too, by their facets; each was tried against them with xmllint 2.9.14.
  it.each<[string, string | RegExp, string, string[]]>([
    ["zone code 255", '<TZN A="254"', '<TZN A="255"', ["bad-attribute", "missing-zone"]],
    ["a short identifier", /PDV A="0006"/, 'PDV A="6"', ["bad-attribute", "uneven-zones"]],
    ["an exponent in a scale", "0.00892179122", "8.9e-3", ["bad-attribute"]],
    ["ten decimals", "42.010000000", "42.0100000001", ["bad-attribute", "bad-polygon"].slice(0, 1)],
    ["a name of 33 characters", 'B="Low P"', `B="${"x".repeat(33)}"`, ["bad-attribute"]],
    ["a field without its area", / D="920179"/, "", ["missing-attribute"]],
    ["a maker's own attribute", '<PFD A="PFD1"', '<PFD P123_x="1" A="PFD1"', ["unknown-attribute"]],
    ["an id with a minus sign", 'CTR A="CTR1"', 'CTR A="CTR-1"', ["bad-attribute", "dangling-reference"]],
    ["an unknown element", "<PDT ", "<WKR/><PDT ", ["child-count", "unknown-element"]],
    ["edition 5", 'VersionMajor="4"', 'VersionMajor="5"', ["bad-attribute"]],
  ])("finds %s", (_, from, to, codes) => {
    const found = codesAfter((xml) => xml.replace(from, to));
    expect([...new Set(found)].sort()).toEqual(codes.map((code) => `iso11783/${code}`).sort());
  });

  // These pass the schemas, whose content models and references are loose, and must fail here.
  it.each<[string, (xml: string) => string, string]>([
    ["a reference to a field that is not there", (xml) => xml.replace('E="PFD1"', 'E="PFD9"'), "dangling-reference"],
    ["a reference to the wrong kind of thing", (xml) => xml.replace('E="VPN1"', 'E="PDT1"'), "dangling-reference"],
    ["a special zone that is not there", (xml) => xml.replace('J="253"', 'J="77"'), "missing-zone"],
    ["two zones with one code", (xml) => xml.replace('TZN A="2"', 'TZN A="1"'), "duplicate-zone"],
    ["two polygons in a zone", (xml) => xml.replace(/(<PLN A="2".*?<\/PLN>)/s, "$1$1"), "child-count"],
    [
      "a polygon with two outer rings",
      (xml) => xml.replace(/(PLN A="2"[^>]*>\s*)(<LSG.*?<\/LSG>)/s, "$1$2$2"),
      "bad-polygon",
    ],
    ["an open ring", (xml) => xml.replace(/(PLN A="2".*?)<PNT [^>]*>(\s*<\/LSG>)/s, "$1$2"), "bad-polygon"],
    [
      "zones that set different values",
      (xml) => xml.replace('A="0006" B="22417"', 'A="0001" B="22417"'),
      "uneven-zones",
    ],
    ["an id used twice", (xml) => xml.replace("<PDT ", '<PDT A="PDT1" B="Twin"/><PDT '), "duplicate-id"],
  ])("finds %s", (_, change, code) => {
    expect(codesAfter(change)).toContain(`iso11783/${code}`);
  });

  it.each<[string, (xml: string) => string, string]>([
    ["more columns than the file holds", (xml) => xml.replace('E="3"', 'E="4"'), "bad-grid"],
    ["a wrong stated length", (xml) => xml.replace('H="24"', 'H="23"'), "bad-grid"],
    ["a file name without five digits", (xml) => xml.replace('G="GRD00001"', 'G="GRD1"'), "bad-attribute"],
    ["a grid whose file is not there", (xml) => xml.replace('G="GRD00001"', 'G="GRD00002"'), "missing-file"],
    ["a grid whose zone is not there", (xml) => xml.replace('I="2" J="1"', 'I="2" J="9"'), "missing-zone"],
    ["two grids in a task", (xml) => xml.replace(/(<GRD [^>]*>)/, "$1$1"), "child-count"],
  ])("finds %s", (_, change, code) => {
    expect(codesAfter(change, gridFiles(2))).toContain(`iso11783/${code}`);
  });

  it("finds cells that name no zone, and file names in small letters", () => {
    const files = gridFiles(1);
    files.set("TASKDATA/GRD00001.BIN", new Uint8Array(6).fill(99));
    expect(checkTaskData(files).map((issue) => issue.message)).toEqual([
      "GRD00001.BIN names zone 99, which TSK1 does not have.",
    ]);
    const small = new Map([...written(twoZones()).files].map(([name, data]) => [name.replace("XML", "xml"), data]));
    expect(checkTaskData(small).map((issue) => issue.code)).toEqual(["iso11783/file-name"]);
  });
});
