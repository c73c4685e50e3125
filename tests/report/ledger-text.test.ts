import fc from "fast-check";
import {describe, expect, it} from "vitest";
import {ledgerText} from "../../src/report/ledger-text.ts";
import {tableLines, wrapWords} from "../../src/report/text-table.ts";
import {sampleLedger} from "./ledger.ts";

describe("the ledger as text", () => {
  it("is set like a table in a handbook", () => {
    expect(ledgerText(sampleLedger())).toBe(
      `
Millrace, 153.8 ac
compared with whole field

                                                                          against
                                ac per   sampling   product   total   whole field
strategy      samples   cores   sample          $         $       $             $
─────────────────────────────────────────────────────────────────────────────────
Whole field         7     140     22.0        154     7,690   7,844             —
Grid               62     496      2.5        992     5,400   6,392        −1,452
Zones               9     108     17.1          —         —       —             —

11-52-0 (MAP) for P2O5

                                                                   rounding,               against
               mean   least    most    total    P2O5   N with it      limits    cost   whole field
strategy      lb/ac   lb/ac   lb/ac       lb      lb          lb          lb       $            lb
──────────────────────────────────────────────────────────────────────────────────────────────────
Whole field   125.0     125     125   19,225   9,997       2,115        +154   7,690             —
Grid           87.8       0     240   13,500   7,020       1,485         −12   5,400        −5,725
Zones             —       —       —        —       —           —           —       —             —

Soil test for P2O5: acres by class

                                               above the
                   below the                 maintenance
              critical level   maintenance         limit
strategy                  ac            ac            ac
────────────────────────────────────────────────────────
Whole field              0.0         153.8           0.0
Grid                    61.3          50.1          42.5

· For arithmetic only: a test.
· No gain in yield is promised. No gain in yield is promised. No gain in yield is promised. No gain
  in yield is promised. No gain in yield is promised.
`.slice(1),
    );
  });

  it("keeps to the width it is given, down to a narrow page", () => {
    for (const width of [60, 72, 80, 100]) {
      for (const line of ledgerText(sampleLedger(), width).split("\n")) expect(line.length).toBeLessThanOrEqual(width);
    }
  });

  it("has the sampling cost a year where it is known, and one table for each product", () => {
    const ledger = sampleLedger();
    const rows = ledger.rows.map((row) => ({...row, samplingCostPerYear: 38.5}));
    expect(ledgerText({...ledger, rows})).toMatch(/sampling {3}sampling {3}product.*\n.*\$ {3}\$ a year/);
    const potash = {...rows[0]?.products[0], code: "MOP", analysis: "0-0-60", nutrient: "K2O", nitrogenLb: 0} as never;
    const both = rows.map((row, i) => (i === 0 ? {...row, products: [...row.products, potash]} : row));
    const text = ledgerText({...ledger, rows: both});
    expect(text).toMatch(
      /11-52-0 \(MAP\) for P2O5\n[\s\S]*N with it[\s\S]*0-0-60 \(MOP\) for K2O\n(?![\s\S]*N with it)/,
    );
  });

  it("of plans alone has the sampling table and the notes", () => {
    const ledger = sampleLedger();
    const rows = ledger.rows.map((row) => ({...row, products: [], acresByClass: {}}));
    const text = ledgerText({...ledger, rows});
    expect(text).not.toMatch(/lb/);
    expect(text).toMatch(/· For arithmetic only: a test\.\n/);
  });
});

describe("a table in plain text", () => {
  it("loses no cell when it goes on below", () => {
    const word = fc.stringMatching(/^[a-z0-9]{1,9}$/);
    fc.assert(
      fc.property(fc.array(fc.array(word, {minLength: 3, maxLength: 3}), {minLength: 1, maxLength: 9}), (cells) => {
        const names = {head: ["name"], align: "left" as const, cells: ["one", "two", "three"]};
        const columns = cells.map((column, i) => ({head: [`h${i}`], align: "right" as const, cells: column}));
        const lines = tableLines([names, ...columns], 30);
        for (const line of lines) expect(line.length).toBeLessThanOrEqual(30);
        const read = ["one", "two", "three"].map((name) =>
          lines.filter((line) => line.startsWith(`${name} `)).flatMap((line) => line.split(/\s+/).slice(1)),
        );
        expect(read).toEqual([0, 1, 2].map((row) => cells.map((column) => column[row])));
      }),
    );
  });

  it("breaks words into lines and leaves long ones whole", () => {
    expect(wrapWords("below the critical level", 10)).toEqual(["below the", "critical", "level"]);
    expect(wrapWords("unbreakable no", 5)).toEqual(["unbreakable", "no"]);
    expect(wrapWords("  ", 5)).toEqual([]);
  });
});
