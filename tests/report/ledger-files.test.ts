import {describe, expect, it} from "vitest";
import {ledgerJson} from "../../src/report/ledger-json.ts";
import {ledgerCsvRows} from "../../src/report/ledger-rows.ts";
import {sampleLedger} from "./ledger.ts";

describe("the ledger as rows for a spreadsheet", () => {
  const {header, rows} = ledgerCsvRows(sampleLedger());

  it("has columns that scripts can rely on, units in their names", () => {
    expect(header.join(",")).toBe(
      "field,field_ac,baseline,strategy,samples,cores,ac_per_sample,strategy_sampling_usd," +
        "strategy_sampling_usd_per_year,strategy_product_usd,strategy_total_usd,strategy_difference_usd,product," +
        "analysis,nutrient,mean_lb_per_ac,min_lb_per_ac,max_lb_per_ac,total_lb,nutrient_lb,nitrogen_lb," +
        "rounding_and_limits_lb,cost_usd,difference_lb",
    );
  });

  it("has one row for each strategy and product, and one for a strategy without products", () => {
    expect(rows.map((row) => row.join(","))).toEqual([
      "Millrace,153.8,whole-field,whole-field,7,140,21.9714,154,,7690,7844,,MAP,11-52-0,P2O5,125,125,125,19225,9997,2114.75,154.2,7690,",
      "Millrace,153.8,whole-field,grid,62,496,2.4806,992,,5400,6392,-1452,MAP,11-52-0,P2O5,87.7764,0,240,13500.003,7020.001,1485,-12.4,5400,-5724.997",
      "Millrace,153.8,whole-field,zone,9,108,17.0889,,,,,,,,,,,,,,,,,",
    ]);
  });

  it("has as many cells in every row as in its heading", () => {
    for (const row of rows) expect(row).toHaveLength(header.length);
  });
});

describe("the ledger as JSON", () => {
  it("is the comparison with rates to 4, lb to 3, money to 2 decimals, and says so", () => {
    const {comparison, ...about} = JSON.parse(ledgerJson(sampleLedger()));
    expect(about).toMatchObject({
      kind: "ledger",
      version: 1,
      rounding: {rateDecimals: 4, lbDecimals: 3, moneyDecimals: 2},
    });
    expect(comparison.rows[1]).toMatchObject({acresPerSample: 2.4806, totalCost: 6392, differenceCost: -1452});
    expect(comparison.rows[1].products[0]).toMatchObject({
      meanLbPerAcre: 87.7764,
      totalLb: 13500.003,
      nutrientLb: 7020.001,
      differenceLb: -5724.997,
      cost: 5400,
    });
    expect(comparison.notes).toEqual(sampleLedger().notes);
    expect(Object.keys(comparison.rows[2])).toEqual(Object.keys(sampleLedger().rows[2] ?? {}));
  });

  it("is the same bytes for the same ledger, and ends with a line end", () => {
    expect(ledgerJson(sampleLedger())).toBe(ledgerJson(structuredClone(sampleLedger())));
    expect(ledgerJson(sampleLedger()).endsWith("}\n")).toBe(true);
  });
});
