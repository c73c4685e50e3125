import {beforeAll, describe, expect, it} from "vitest";
import {writeTable} from "../../src/formats/write-table.ts";
import {loadGeos} from "../../src/geo/geos.ts";
import {growerReportHtml} from "../../src/report/grower-report.ts";
import {inShort, whatToDo} from "../../src/report/grower-words.ts";
import {intervalChart} from "../../src/report/interval-chart.ts";
import {ledgerCsvRows} from "../../src/report/ledger-rows.ts";
import {ledgerText} from "../../src/report/ledger-text.ts";
import {recordHtml} from "../../src/report/record-report.ts";
import {reportTables} from "../../src/report/record-tables.ts";
import {rateMaps} from "../../src/report/report-maps.ts";
import type {ReportModel} from "../../src/report/report-model.ts";
import {cellText, tableCsvRows, tablesJson} from "../../src/report/report-table.ts";
import {intervalText, sureSentences} from "../../src/report/say-sure.ts";
import {smallModel} from "./small-model.ts";

let model: ReportModel;
beforeAll(async () => {
  await loadGeos();
  model = smallModel();
});

const reports: readonly [string, (m: ReportModel, paper?: "a4" | "letter") => string][] = [
  ["field report", growerReportHtml],
  ["full record", recordHtml],
];

describe.each(reports)("the %s", (_, html) => {
  it("is one document that asks nothing of the network", () => {
    const text = html(model);
    expect(text).toMatch(/^<!doctype html>/);
    expect(text.replaceAll('xmlns="http://www.w3.org/2000/svg"', "")).not.toMatch(
      /https?:|<script|<link|@import|src=|url\((?!#)/,
    );
  });

  it("is the same on both papers but for the sheet", () => {
    const letter = html(model, "letter");
    expect(letter).toContain("size: 8.5in 11in");
    expect(html(model, "a4")).toBe(letter.replace("size: 8.5in 11in", "size: 210mm 297mm"));
  });

  it("carries names as they are written, whatever is in them", () => {
    const text = html({...model, field: '<b>"A & B"</b></style>', farm: "O'Neil <&>"});
    expect(text).not.toContain("<b>");
    expect(text).toContain("&lt;b&gt;&quot;A &amp; B&quot;&lt;/b&gt;");
    expect(text.match(/<\/style>/g)).toHaveLength(1);
  });

  it("names the source faces first and has colours off the red, yellow and green road", () => {
    const text = html(model);
    expect(text).toContain('"Source Sans 3"');
    expect(text).toContain('"Source Serif 4"');
    for (const [, r, g, b] of text.matchAll(/fill="#([0-9a-f]{2})([0-9a-f]{2})([0-9a-f]{2})"/g)) {
      const [red, green, blue] = [r, g, b].map((c) => Number.parseInt(c ?? "0", 16)) as [number, number, number];
      // Pure reds, greens and yellows: one or two channels far above the rest, blue not among them.
      expect(green > red + 40 && green > blue + 40, `green: ${r}${g}${b}`).toBe(false);
      expect(red > green + 110 && red > blue + 110, `red: ${r}${g}${b}`).toBe(false);
    }
  });

  it("gives the same bytes for the same model", () => {
    expect(html(model)).toBe(html(smallModel()));
  });

  it("does without everything that is not known", () => {
    const {certainty, advice, money, differences, overUnder, ...bare} = model;
    expect(html(bare)).toContain("North");
    expect(html(bare)).not.toMatch(/undefined|NaN/);
    expect(html(model)).not.toMatch(/undefined|NaN/);
  });

  it("always carries the caution", () => {
    expect(html(model)).toContain("Check against local rules.");
  });
});

describe("the maps", () => {
  it("write every rate of the table, the zone in a ring, and hatch ground that gets none", () => {
    const maps = rateMaps(model, "11-52-0", "P2O5");
    const rates =
      reportTables(model)
        .find(({id}) => id === "units")
        ?.rows.map((row) => row.at(-1)) ?? [];
    expect(rates).toEqual([100, 0, 200, 100]);
    for (const rate of rates) expect(maps).toContain(`>${rate}</text>`);
    for (const zone of [1, 2, 3]) expect(maps).toMatch(new RegExp(`<circle [^>]*/>\\n<text [^>]*>${zone}</text>`));
    expect(maps.match(/url\(#hatch-zero\)/g)).toHaveLength(1);
  });

  it("have one scale and one ramp for all strategies", () => {
    const maps = rateMaps(model, "11-52-0", "P2O5");
    expect(maps.match(/500 ft|200 ft|100 ft/g)?.every((bar, _, all) => bar === all[0])).toBe(true);
    expect(maps.match(/lb of 11-52-0 per acre/g)).toHaveLength(1);
  });
});

describe("tables", () => {
  it("have names of their own, and as many cells as columns", () => {
    const tables = reportTables(model);
    expect(new Set(tables.map(({id}) => id)).size).toBe(tables.length);
    for (const {id, columns, rows} of tables) {
      expect(new Set(columns.map(({name}) => name)).size, id).toBe(columns.length);
      for (const row of rows) expect(row.length, id).toBe(columns.length);
    }
  });

  it("agree with the ledger to the pound", () => {
    const products = reportTables(model).find(({id}) => id === "products");
    const totals = products?.rows.map((row) => row[products.columns.findIndex(({name}) => name === "total_lb")]);
    expect(totals).toEqual(model.comparison.rows.map((row) => row.products[0]?.totalLb));
  });

  it("write numbers as numbers into CSV, also below zero, and gaps as gaps", () => {
    const differences = reportTables(model).find(({id}) => id === "differences");
    if (!differences) throw new Error("no differences");
    const {header, rows} = tableCsvRows(differences);
    const csv = new TextDecoder().decode(writeTable(header, rows));
    expect(csv.split("\r\n")[0]).toBe("product,strategy,against,lb,low_lb,high_lb,verdict");
    expect(csv).not.toMatch(/'-\d/);
    const ledger = ledgerCsvRows({
      ...model.comparison,
      rows: model.comparison.rows.map((row) => ({...row, differenceCost: -5})),
    });
    expect(new TextDecoder().decode(writeTable(ledger.header, ledger.rows))).toMatch(/,-5,/);
    const gap = {
      id: "t",
      title: "t",
      columns: [{name: "a", head: "a", decimals: 1}],
      rows: [[undefined], [Number.NaN], [2.345678]],
    };
    expect(tableCsvRows(gap).rows).toEqual([[null], [null], [2.3457]]);
    expect(JSON.parse(tablesJson([gap])).tables[0].rows).toEqual([{a: null}, {a: null}, {a: 2.3457}]);
  });

  it("print figures as people read them", () => {
    const column = {name: "a", head: "a", decimals: 1, signed: true};
    expect([1234.56, -3, 0, undefined, Number.NaN, "x"].map((cell) => cellText(cell, column))).toEqual([
      "+1,234.6",
      "−3.0",
      "0.0",
      "—",
      "—",
      "x",
    ]);
  });

  it("list remarks with the worst first", () => {
    const issues = reportTables(model).find(({id}) => id === "issues");
    expect(issues?.rows[0]).toEqual(["warning", "Row 3 has no K.", "Ask the lab.", "lab.csv, row 3", "a/warning"]);
  });
});

describe("plain words", () => {
  const advised = {
    finer: "pays",
    strategy: "zone",
    headline: "Sampling by zone pays here.",
    reasons: [],
    howSure: "",
  } as const;

  it("answer which, how much and how sure; with no strategy chosen, for all of them", () => {
    const [which, much, sure] = inShort(model);
    expect(which?.answer).toBe("Not settled by these figures");
    expect(which?.why).toMatch(/^No strategy is chosen to spread yet\. Whether finer/);
    expect(much?.answer).toBe("Hangs on the strategy, not chosen yet");
    expect(much?.why).toBe("Whole field: 1,200 lb of 11-52-0. Zones: 1,200 lb of 11-52-0.");
    expect(sure?.answer).toBe("No clear difference from other ways");
    const chosen = smallModel({advice: advised, spread: "zone"});
    expect(inShort(chosen).map(({answer}) => answer)).toEqual([
      "Zones",
      "1,200 lb of 11-52-0",
      "No clear difference from whole field",
    ]);
    expect(inShort(chosen)[0]?.why).toBe("You chose zones, as advised. Sampling by zone pays here.");
  });

  it("order for the strategy that is spread, whatever was advised, tons and nitrogen first", () => {
    const whole = whatToDo(smallModel({advice: advised, spread: "whole-field"}));
    expect(whole.slice(0, 4)).toEqual([
      "You chose whole field; the advice was zones.",
      "Order 0.6 tons of 11-52-0 (1,200 lb) and spread it at 100 lb/ac throughout.",
      "Take 11 lb of nitrogen per acre on average off the nitrogen plan: it comes with the product.",
      "Load the whole field rate file, and see on the controller that field, rates, units and totals are those of whole field above.",
    ]);
    expect(inShort(smallModel({advice: advised, spread: "whole-field"}))[0]).toMatchObject({
      answer: "Whole field",
      why: "You chose whole field; the advice was zones. Sampling by zone pays here.",
    });
    const zones = whatToDo(smallModel({spread: "zone"}));
    expect(zones[0]).toBe("You chose zones; the figures do not decide for any strategy.");
    expect(zones[1]).toBe("Order 0.6 tons of 11-52-0 (1,200 lb) and spread it at 0 to 200 lb/ac by the zones map.");
    expect(zones.join(" ")).not.toContain("throughout");
  });

  it("give the orders side by side until a strategy is chosen, and no totals for the controller", () => {
    const steps = whatToDo({...model, advice: advised});
    expect(steps.slice(0, 3)).toEqual([
      "No strategy is chosen to spread yet; the advice is zones.",
      "If you spread the whole field as one: 0.6 tons of 11-52-0 (1,200 lb) at 100 lb/ac; 11 lb/ac off the nitrogen plan.",
      "If you spread by the zones' map: 0.6 tons of 11-52-0 (1,200 lb) at 0 to 200 lb/ac; 11 lb/ac off the nitrogen plan.",
    ]);
    expect(steps.join(" ")).not.toMatch(/Load the|are those of|these totals/);
  });

  it("say the same in the full record, before the advice", () => {
    const text = recordHtml({...model, advice: advised, spread: "whole-field"});
    expect(text.indexOf("You chose whole field; the advice was zones.")).toBeLessThan(
      text.indexOf("Sampling by zone pays here."),
    );
    expect(text).toContain("spread it at 100 lb/ac throughout");
    expect(text).not.toContain("If you spread");
    expect(recordHtml(model)).toContain("No strategy is chosen to spread yet.");
  });

  it("put intervals shortly and differences in a sentence", () => {
    expect(intervalText({low: 16_800, high: 21_500})).toBe("16,800–21,500");
    expect(intervalText({low: -500, high: 20})).toBe("−500 to 20");
    expect(intervalText({low: 5, high: 5})).toBe("does not move");
    expect(model.certainty && sureSentences(model.certainty)[0]).toMatch(
      /^11-52-0: no clear difference between any two strategies/,
    );
  });

  it("draw an interval for each strategy with its figures beside it", () => {
    if (!model.certainty) throw new Error("no certainty");
    const chart = intervalChart(model.certainty, "11-52-0", "P2O5");
    expect(chart.match(/<circle/g)).toHaveLength(2);
    expect(chart).toContain("1,200");
  });
});

describe("the ledger in text", () => {
  it("gains intervals and how sure, and is the old one without them", () => {
    const plain = ledgerText(model.comparison, 110);
    expect(plain).not.toContain("interval\n");
    expect(plain).not.toContain("How sure");
    const sure = ledgerText(model.comparison, 110, {certainty: model.certainty, advice: model.advice});
    expect(sure).toContain("90 %");
    expect(sure).toContain("does not move");
    expect(sure).toMatch(/How sure\n\nWhether finer sampling pays is not shown/);
    for (const line of sure.split("\n")) expect(line.length).toBeLessThanOrEqual(110);
  });
});
