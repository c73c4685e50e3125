import {describe, expect, it} from "vitest";
import {readDbf} from "../../src/formats/read-dbf.ts";
import {buildDbf, type DbfField} from "./build-files.ts";

const C: DbfField = {name: "NAME", type: "C", width: 10};
const N: DbfField = {name: "RATE", type: "N", width: 10, decimals: 2};
const rows = (dbf: Uint8Array, cpg?: string) => readDbf(dbf, "rx.dbf", cpg).value;
const latin1 = (text: string): Uint8Array => Uint8Array.from([...text].map((c) => c.charCodeAt(0)));

describe("an attribute table", () => {
  it("gives numbers, texts, dates and logicals", () => {
    const fields: DbfField[] = [N, C, {name: "ON", type: "D", width: 8}, {name: "OK", type: "L", width: 1}];
    expect(
      rows(
        buildDbf(fields, [
          ["200.00", "MAP", "20260501", "T"],
          ["-1.5e2", "007", "20261231", "n"],
        ]),
      ),
    ).toEqual([
      {RATE: 200, NAME: "MAP", ON: "2026-05-01", OK: true},
      {RATE: -150, NAME: "007", ON: "2026-12-31", OK: false},
    ]);
  });

  it("takes blanks, asterisks and zero dates as nothing, never as zero", () => {
    const fields: DbfField[] = [N, C, {name: "ON", type: "D", width: 8}, {name: "OK", type: "L", width: 1}];
    const nothing = {RATE: null, NAME: null, ON: null, OK: null};
    expect(
      rows(
        buildDbf(fields, [
          ["", "", "", "?"],
          ["**********", " ", "00000000", " "],
        ]),
      ),
    ).toEqual([nothing, nothing]);
  });

  it("remarks on numbers and dates it cannot read, once each", () => {
    const dbf = buildDbf(
      [N, {name: "ON", type: "D", width: 8}],
      [
        ["1,5", "20261301"],
        ["12abc", "2026-5-1"],
        ["3", ""],
      ],
    );
    const {value, issues} = readDbf(dbf, "rx.dbf");
    expect(value.map((row) => row?.RATE)).toEqual([null, null, 3]);
    expect(issues.map(({code, message}) => [code, message.includes("2 records (1 and 2)")])).toEqual([
      ["dbf/not-a-number", true],
      ["dbf/not-a-date", true],
    ]);
  });

  it("leaves deleted rows empty, in their place", () => {
    expect(rows(buildDbf([N], [["1"], ["2"], ["3"]], {deleted: [1]}))).toEqual([{RATE: 1}, undefined, {RATE: 3}]);
  });

  it.each([
    ["UTF-8", new TextEncoder().encode("Größe")],
    ["utf8", new TextEncoder().encode("Größe")],
    ["65001", new TextEncoder().encode("Größe")],
    ["\ufeffUTF-8\r\n", new TextEncoder().encode("Größe")],
    ["1252", latin1("Größe")],
    ["ANSI 1252", latin1("Größe")],
    ["CP1252", latin1("Größe")],
    ["ISO-8859-1", latin1("Größe")],
    ["88591", latin1("Größe")],
    ["LDID/87", latin1("Größe")],
    ["1251", Uint8Array.from([0xcf, 0xee, 0xeb, 0xe5])],
    ["932", Uint8Array.from([0x93, 0x79])],
  ])("reads text as its .cpg says: %s", (cpg, raw) => {
    const expected = cpg === "1251" ? "Поле" : cpg === "932" ? "土" : "Größe";
    expect(rows(buildDbf([C], [[raw]]), cpg)).toEqual([{NAME: expected}]);
    expect(readDbf(buildDbf([C], [[raw]]), "x", cpg).issues).toEqual([]);
  });

  it("reads text as the language byte says when there is no .cpg", () => {
    expect(rows(buildDbf([C], [[latin1("Größe")]], {ldid: 0x57}))).toEqual([{NAME: "Größe"}]);
    expect(rows(buildDbf([C], [[Uint8Array.from([0xcf, 0xee])]], {ldid: 0xc9}))).toEqual([{NAME: "По"}]);
  });

  it("guesses only when nothing says it, and says so", () => {
    for (const raw of [new TextEncoder().encode("Größe"), latin1("Größe")]) {
      const {value, issues} = readDbf(buildDbf([C], [[raw], ["plain"]]), "x");
      expect(value).toEqual([{NAME: "Größe"}, {NAME: "plain"}]);
      expect(issues.map(({code}) => code)).toEqual(["dbf/encoding-guessed"]);
    }
  });

  it("copes with the headers programs really write", () => {
    // A line feed where the carriage return should be, names given twice, room behind the list of columns.
    expect(rows(buildDbf([N], [["1"]], {terminator: 0x0a}))).toEqual([{RATE: 1}]);
    expect(rows(buildDbf([N, N], [["1", "2"]]))).toEqual([{RATE: 1, RATE_2: 2}]);
    const plain = buildDbf([N], [["1"]]);
    const roomy = Uint8Array.from([...plain.subarray(0, 65), ...Array(263).fill(0), ...plain.subarray(65)]);
    roomy.set([(65 + 263) & 255, (65 + 263) >> 8], 8);
    expect(rows(roomy)).toEqual([{RATE: 1}]);
  });

  it("leaves out columns of kinds it does not know, with a remark", () => {
    const {value, issues} = readDbf(buildDbf([N, {name: "NOTE", type: "M", width: 10}], [["1", "x"]]), "x");
    expect(value).toEqual([{RATE: 1}]);
    expect(issues[0]?.message).toContain("NOTE");
    const pollute = readDbf(buildDbf([N, {name: "__proto__", type: "C", width: 4}], [["1", "x"]]), "x").value[0];
    expect(Object.getPrototypeOf(pollute)).toBe(Object.prototype);
  });
});
