import fc from "fast-check";
import {describe, expect, it} from "vitest";
import {readTable} from "../../src/formats/read-table.ts";
import {writeTable} from "../../src/formats/write-table.ts";
import {bytes, join} from "./build-files.ts";

const read = (text: string, options = {}) => readTable(bytes(text), "log.csv", options);
const text = (data: Uint8Array): string => new TextDecoder("utf-8", {ignoreBOM: true}).decode(data);

describe("a table is read", () => {
  it.each([
    ["comma", "id,P,K\nA1,12.5,130\n"],
    ["semicolon", "id;P;K\nA1;12.5;130\n"],
    ["tab", "id\tP\tK\nA1\t12.5\t130\n"],
    ["quotes", '"id","P","K"\r\n"A1","12.5","130"\r\n'],
    ["old line ends", "id,P,K\rA1,12.5,130\r"],
    ["mixed line ends", "id,P,K\r\nA1,12.5,130\n"],
    ["no last line end", "id,P,K\nA1,12.5,130"],
    ["a byte-order mark", "\ufeffid,P,K\nA1,12.5,130\n"],
    ["a spreadsheet's hint", "sep=;\nid;P;K\nA1;12.5;130\n"],
    ["trailing delimiters", "id,P,K,,\nA1,12.5,130,,\n"],
  ])("with %s", (_, source) => {
    const {value, issues} = read(source);
    expect(value.header).toEqual(["id", "P", "K"]);
    expect(value.rows).toEqual([["A1", "12.5", "130"]]);
    expect(issues).toEqual([]);
  });

  it("with decimal commas between semicolons", () => {
    expect(read("id;P;K\nA1;12,5;1,3\nA2;13,5;1,4\n").value.rows[0]).toEqual(["A1", "12,5", "1,3"]);
  });

  it("of two columns and one row, or of one column", () => {
    for (const delimiter of [",", ";", "\t", "|"]) {
      expect(read(`a${delimiter}b\n1${delimiter}2\n`).value).toMatchObject({header: ["a", "b"], rows: [["1", "2"]]});
    }
    expect(read("id\nA1\nA2\n").value.rows).toEqual([["A1"], ["A2"]]);
    expect(read('"a;x";b\n"1;2;3";4\n').value.header).toEqual(["a;x", "b"]);
    expect(read("Yield, dry;Moisture\n2,5;15,5\n3;16\n").value.header).toEqual(["Yield, dry", "Moisture"]);
  });

  it("in UTF-16 and in Latin-1", () => {
    const source = "Größe,P\nä,1\n";
    const wide = (order: (c: number) => number[]) => [...source].flatMap((c) => order(c.charCodeAt(0)));
    const le = wide((c) => [c & 255, c >> 8]);
    const be = wide((c) => [c >> 8, c & 255]);
    for (const data of [[0xff, 0xfe, ...le], [0xfe, 0xff, ...be], le, be]) {
      expect(readTable(Uint8Array.from(data), "a.csv").value.header).toEqual(["Größe", "P"]);
    }
    const {value, issues} = readTable(Uint8Array.from([...source].map((c) => c.charCodeAt(0))), "a.csv");
    expect(value.rows).toEqual([["ä", "1"]]);
    expect(issues.map(({code}) => code)).toEqual(["text/encoding-guessed"]);
  });

  it("as text, with every row at its number in the file", () => {
    const {value} = read('id,note\n\n007,"two\nlines"\n,,\n1-2, x \n\n\n');
    expect(value.rows).toEqual([
      ["", ""],
      ["007", "two\nlines"],
      ["", ""],
      ["1-2", " x "],
    ]);
    expect(value.firstRow).toBe(2);
    expect(read("\n\nid,P\nunit,ppm\nA1,3\n").value).toMatchObject({firstRow: 4, header: ["id", "P"]});
  });

  it("with short rows filled up, and said so with their numbers", () => {
    const {value, issues} = read("a,b,c\n1,2,3\n4,5\n6\n");
    expect(value.rows).toEqual([
      ["1", "2", "3"],
      ["4", "5", ""],
      ["6", "", ""],
    ]);
    expect(issues).toMatchObject([{code: "csv/short-row", place: {row: 3}}]);
    expect(issues[0]?.message).toContain("2 rows (3 and 4)");
  });

  it("with repeated and missing headings told apart", () => {
    const {value, issues} = read("P,P,,P\n1,2,3,4\n");
    expect(value.header).toEqual(["P", "P (2)", "column 3", "P (3)"]);
    expect(issues.map(({code}) => code)).toEqual(["csv/column-twice"]);
  });
});

describe("a table is refused", () => {
  it.each([
    ["csv/empty", ""],
    ["csv/empty", "\n \n,,\n"],
    ["csv/no-rows", "lon,lat\n"],
    ["csv/too-many-cells", "a,b\n1,2\n3,4,5\n"],
    ["csv/quote", 'a,b\n1,"2\n3,4\n'],
    ["csv/quote", 'a,b\n1,"2"x\n3,4\n'],
    ["text/binary", "a,b\n1\u0000,2\n"],
  ])("%s", (code, source) => {
    expect(() => read(source)).toThrow(expect.objectContaining({name: "FieldError", code}));
  });

  it.each([
    [
      "unpadded",
      "Hill Country Soil Lab\nReport 117, 4 May 2026\n\nSample ID,pH,P (ppm),K (ppm)\nA1,6.4,21,140\nA2,6.1,18,120\n",
      4,
    ],
    ["padded", "Hill Country Soil Lab,,,,\nSample ID,pH,P,K,CEC\n,,ppm,ppm,meq\nA1,6.4,21,140,12\n", 2],
    ["by semicolons", "Hill Country Soil Lab\nReport 117\nSample ID;pH;P\nA1;6,4;21\nA2;6,1;18\n", 3],
    ["of many words", "Hill Country Soil Lab,12 Mill Road,Anytown\nSample ID,pH,P,K,CEC\nA1,6.4,21,140,12\n", 2],
  ])("when a letterhead stands above its header, %s, with the row of the header", (_, source, row) => {
    expect(() => read(source)).toThrow(
      expect.objectContaining({
        code: "csv/header-below",
        place: {file: "log.csv", row},
        message: expect.stringContaining(`seems to stand in row ${row} ("Sample ID, pH, P`),
      }),
    );
  });

  it("but text with the delimiter in it is no header", () => {
    expect(() => read("id,note\nA1,soil, wet and dark\nA2,clay, dry\n")).toThrow(
      expect.objectContaining({code: "csv/too-many-cells"}),
    );
    // A row of units may have more cells than the headings.
    expect(read("id,P,\n,ppm,by eye\nA1,3,x\n").value.header).toEqual(["id", "P", "column 3"]);
  });

  it("with the number of the long row", () => {
    expect(() => read("a,b\n1,2\n3,4,5\n")).toThrow(expect.objectContaining({place: {file: "log.csv", row: 3}}));
  });
});

describe("a table is written", () => {
  it("with numbers as numbers, text quoted where needed, and nothing a spreadsheet would run", () => {
    const cells = ["=1+1", "@x", "-a", "+1", "\tx", 'say "hi"', "a,b", "plain", " ="];
    const written = text(writeTable(["text", "n"], [...cells.map((cell) => [cell, -93.1]), [null, Number.NaN]]));
    expect(written).toBe(
      [
        "text,n",
        "'=1+1,-93.1",
        "'@x,-93.1",
        "'-a,-93.1",
        "'+1,-93.1",
        "'\tx,-93.1",
        '"say ""hi""",-93.1',
        '"a,b",-93.1',
        "plain,-93.1",
        "' =,-93.1",
        ",",
        "",
      ].join("\r\n"),
    );
    expect(text(writeTable(["a"], [], {bom: true}))).toBe("\ufeffa\r\n");
  });

  it("so that it reads back as it was, whatever the text", () => {
    const cell = fc
      .string({unit: "binary", maxLength: 12})
      .filter((s) => !/[\r\0]/.test(s) && !/^'/.test(s) && isWhole(s));
    fc.assert(
      fc.property(fc.array(fc.tuple(cell, cell), {minLength: 1}), (rows) => {
        const {value} = readTable(writeTable(["a", "b"], [...rows, ["end", "end"]]), "a.csv", {delimiter: ","});
        expect(value.rows).toEqual([...rows, ["end", "end"]]);
      }),
    );
  });
});

/** No half of a surrogate pair, which UTF-8 cannot hold. */
const isWhole = (s: string): boolean => s.isWellFormed();

describe("a log of 200,000 rows", () => {
  it("is read in well under two seconds", () => {
    const row = bytes("-86.4000001,40.5500001,16.54,3.21,30,15.5,2.2,12345\r\n");
    const data = join(bytes("lon,lat,flow,distance,swath,moisture,speed,time\r\n"));
    const whole = new Uint8Array(data.length + row.length * 200_000);
    whole.set(data);
    for (let i = 0; i < 200_000; i++) whole.set(row, data.length + i * row.length);
    const started = performance.now();
    expect(readTable(whole, "log.csv").value.rows).toHaveLength(200_000);
    // About 0.25 s on two quiet cores; the bound only catches a change of order.
    expect(performance.now() - started).toBeLessThan(2000);
  });
});

describe("a table without a header", () => {
  const read = (text: string, columns: string[]) => readTable(new TextEncoder().encode(text), "t.csv", {columns});

  it("takes the names it is given, and its first row as data", () => {
    const {value} = read("1386010|85|3.5\n1386011|90|2.5\n", ["key", "share", "om"]);
    expect(value).toMatchObject({
      header: ["key", "share", "om"],
      firstRow: 1,
      rows: [
        ["1386010", "85", "3.5"],
        ["1386011", "90", "2.5"],
      ],
    });
  });

  it("may have a single row", () => {
    expect(read("1,2", ["a", "b"]).value.rows).toEqual([["1", "2"]]);
  });

  it("with more cells than names is refused with the row", () => {
    expect(() => read("1,2\n1,2,3\n", ["a", "b"])).toThrow(/row 2|3 cells/i);
  });
});
