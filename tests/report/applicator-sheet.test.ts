import {beforeAll, describe, expect, it} from "vitest";
import {loadGeos} from "../../src/geo/geos.ts";
import {acresByRate, applicatorSheetHtml, type SheetProduct} from "../../src/report/applicator-sheet.ts";
import {sheetModel} from "./applicator-model.ts";

beforeAll(loadGeos);

const textOf = (html: string): string =>
  html
    .replace(/<style>[\s\S]*?<\/style>/, "")
    .replace(/<[^>]+>/g, " ")
    .replace(/\s+/g, " ");

describe("the applicator's sheet", () => {
  it("adds up acres by rate", () => {
    // Quarters of a field of 100 acres at 0, 100, 200 and 100.
    expect(acresByRate(sheetModel(1).products[0]?.polygons ?? [])).toEqual([
      [0, expect.closeTo(25, 6)],
      [100, expect.closeTo(50, 6)],
      [200, expect.closeTo(25, 6)],
    ]);
  });

  it("states least, mean and most, ground spread and total in pounds and tons", () => {
    const text = textOf(applicatorSheetHtml(sheetModel(1)));
    // 25 × 0 + 50 × 100 + 25 × 200 = 10,000 lb on 100 acres.
    expect(text).toContain("0 100.0 200 75.0 ac 10,000 lb 5.00 ton");
    expect(text).toContain("0 on 25.0 ac, 100 on 50.0 ac, 200 on 25.0 ac.");
    // 200 lb/ac × 1.12085 is 224.2 kg/ha.
    expect(text).toContain("200 lb/ac is 224.2 kg/ha");
  });

  it("has a map, a row and a bin for each product", () => {
    const html = applicatorSheetHtml(sheetModel(3));
    expect(html.match(/lb per acre<\/text>/g)).toHaveLength(3);
    expect(html.match(/<b class="bag">/g)).toHaveLength(3);
  });

  it("names the rate without a position where it is another than outside", () => {
    const model = sheetModel(1);
    const [product] = model.products as [SheetProduct];
    const html = applicatorSheetHtml({...model, products: [{...product, lostPositionLbPerAcre: 80}]});
    expect(textOf(html)).toMatch(/outside the map 0-46-1 25.lb\/ac without a position 0-46-1 80.lb\/ac/);
    expect(textOf(applicatorSheetHtml(model))).toMatch(/outside the map, and without a position 0-46-1 25.lb\/ac/);
  });

  it("shortens long lists and says how much more there is", () => {
    const setbacks = Array.from({length: 9}, (_, i) => `ditch ${i + 1}: nothing on 0.10 ac`);
    const text = textOf(applicatorSheetHtml({...sheetModel(1), setbacks}));
    expect(text).toContain("ditch 5: nothing on 0.10 ac and 4 more");
    expect(text).not.toContain("ditch 6");
  });

  it("makes names safe and needs nothing from elsewhere", () => {
    const html = applicatorSheetHtml({...sheetModel(1), field: '<b>North</b> & "40"'});
    expect(html).toContain("&lt;b&gt;North&lt;/b&gt; &amp; &quot;40&quot;");
    expect(html).not.toMatch(/<script|<link|url\(http|undefined|NaN/);
  });
});
