import jsQrModule from "jsqr";
import {beforeAll, describe, expect, it} from "vitest";
import {readTable} from "../../src/formats/read-table.ts";
import {writeTable} from "../../src/formats/write-table.ts";
import {loadGeos} from "../../src/geo/geos.ts";
import {bagLabelsHtml, LABELS_ON_PAGE} from "../../src/report/bag-labels.ts";
import {qrModules, qrSvg} from "../../src/report/qr-code.ts";
import {bagsOf} from "../../src/report/sampling-bags.ts";
import {bagTable, submittalTable} from "../../src/report/sampling-submittal.ts";
import type {SamplingPlan} from "../../src/sampling/plan.ts";
import {checkCharacter, hasGoodCheck, PLAIN_CHARACTERS} from "../../src/units/check-character.ts";
import {gridModel} from "./sampling-plans.ts";

beforeAll(loadGeos);

// An independent reader of QR codes: jsqr 1.4.0.
const jsQr = ((jsQrModule as unknown as {default?: unknown}).default ?? jsQrModule) as (
  data: Uint8ClampedArray,
  width: number,
  height: number,
) => {data: string; version: number} | null;

/** Modules as a camera sees them: so many pixels each, with a margin; `damaged` turns some pixels over. */
function picture(
  modules: readonly (readonly boolean[])[],
  damaged: (row: number, col: number) => boolean = () => false,
) {
  const zoom = 6;
  const side = (modules.length + 8) * zoom;
  const pixels = new Uint8ClampedArray(side * side * 4).fill(255);
  modules.forEach((row, y) => {
    row.forEach((dark, x) => {
      if (dark === damaged(y, x)) return;
      for (let j = 0; j < zoom; j++) {
        for (let i = 0; i < zoom; i++)
          pixels.fill(
            0,
            (((y + 4) * zoom + j) * side + (x + 4) * zoom + i) * 4,
            (((y + 4) * zoom + j) * side + (x + 4) * zoom + i) * 4 + 3,
          );
      }
    });
  });
  return jsQr(pixels, side, side);
}

describe("the QR code of a bag", () => {
  it("is read as its id by another program, whatever letters it has", () => {
    for (let i = 0; i < 100; i++) {
      const id = `WP${PLAIN_CHARACTERS[i % 34]}G${String(i * 7).padStart(3, "0")}`;
      expect(picture(qrModules(id))?.data).toBe(id);
    }
  });

  it("of the longest id is the smallest code there is, so that its modules print large", () => {
    expect(qrModules("ABCW999Z")).toHaveLength(21);
    expect(picture(qrModules("ABCW999Z"))?.version).toBe(1);
  });

  it("is still read with mud on it: level M mends 15 % of the code", () => {
    const spot = (row: number, col: number): boolean => row >= 10 && row < 13 && col >= 10 && col < 14;
    expect(picture(qrModules("KFG07"), spot)?.data).toBe("KFG07");
  });

  it("stands in its quiet zone of four modules, black on white", () => {
    const svg = qrSvg("KFG07", "21mm");
    expect(svg).toContain('viewBox="0 0 29 29"');
    const [, path = ""] = /<path d="([^"]+)"/.exec(svg) ?? [];
    const bars = [...path.matchAll(/M(\d+) (\d+)h(\d+)v1h-(\d+)z/g)].map((bar) => bar.slice(1).map(Number));
    const dark = qrModules("KFG07").flat().filter(Boolean).length;
    expect(bars.reduce((sum, [, , length = 0]) => sum + length, 0)).toBe(dark);
    for (const [x = 0, y = 0, length = 0] of bars) expect(x >= 4 && y >= 4 && x + length <= 25 && y < 25).toBe(true);
  });
});

describe("bag labels", () => {
  let plan: SamplingPlan;
  let about: {farm: string; field: string; plan: SamplingPlan};
  let html: string;

  beforeAll(() => {
    plan = gridModel(2.5, {checkCharacter: true}).plan;
    about = {farm: "Rook Farm", field: "Wren Patch", plan};
    html = bagLabelsHtml(about);
  });

  it("show each bag's id as the plan has it, in words and as a code, with field, depth and strategy", () => {
    const ids = [...html.matchAll(/<p class="id"[^>]*>([^<]+)<\/p>/g)].map(([, id]) => id);
    expect(ids).toEqual(plan.units.map(({id}) => id));
    for (const id of ids) expect(html).toContain(qrSvg(id as string, "21mm"));
    for (const shown of ["Wren Patch, Rook Farm", "<b>8 in</b>", "· grid<", ">date<"]) expect(html).toContain(shown);
  });

  it("carry a check character that tells a misread", () => {
    const [first] = plan.units;
    expect(hasGoodCheck(first?.id ?? "")).toBe(true);
    expect(checkCharacter((first?.id ?? "").slice(0, -1))).toBe((first?.id ?? "").at(-1));
    expect(hasGoodCheck((first?.id ?? "").replace("G0", "G8"))).toBe(false);
  });

  it("come twenty-one to a page", () => {
    expect(html.match(/<div class="labels">/g)).toHaveLength(Math.ceil(64 / LABELS_ON_PAGE));
  });

  it("let the laboratory not tell a unit's second bag from its first", () => {
    const twice = gridModel(2.5, {duplicates: 6}).plan;
    const text = bagLabelsHtml({...about, plan: twice});
    expect(text).not.toContain("cell ");
    expect(text).not.toMatch(/second|duplicate|again/);
    const ids = [...text.matchAll(/<p class="id"[^>]*>([^<]+)<\/p>/g)].map(([, id]) => id as string);
    expect(ids).toHaveLength(70);
    expect(ids).toEqual([...ids].sort());
  });
});

describe("the list for the laboratory", () => {
  const tests = [
    {analyte: "P" as const, methods: ["mehlich-3 icp" as const]},
    {analyte: "pH" as const, methods: []},
  ];

  it("asks for the tests of every bag, dates left blank, and comes back as it was", () => {
    const {plan} = gridModel(5, {duplicates: 3});
    const {header, rows} = submittalTable({farm: "=Rook+Farm", field: "-40", plan, tests});
    const bytes = writeTable(header, rows);
    const text = new TextDecoder().decode(bytes);
    // What a spreadsheet would run as a formula has an apostrophe before it.
    expect(text.split("\r\n")[1]).toBe("WPG01,'=Rook+Farm,'-40,grid,0,8,P (mehlich-3 icp); pH,,");
    const {value} = readTable(bytes, "list.csv");
    expect(value.rows.map(([id]) => id)).toEqual(
      bagsOf(plan)
        .map(({id}) => id)
        .sort(),
    );
    expect(value.rows[0]?.slice(1, 3)).toEqual(["=Rook+Farm", "-40"]);
    expect(text).not.toMatch(/second|cell/);
  });

  it("differs from the crew's list, which goes in walking order and says which bags are second ones", () => {
    const {plan} = gridModel(5, {duplicates: 3});
    const {rows} = bagTable({field: "Wren Patch", plan});
    expect(rows.map(([, id]) => id)).toEqual(bagsOf(plan).map(({id}) => id));
    expect(rows.filter(([, , , ground]) => String(ground).includes("second bag"))).toHaveLength(3);
  });
});
