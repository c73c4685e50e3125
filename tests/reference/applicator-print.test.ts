import {execFileSync} from "node:child_process";
import {mkdtempSync, rmSync, writeFileSync} from "node:fs";
import {tmpdir} from "node:os";
import {join} from "node:path";
import {afterAll, beforeAll, describe, expect, test} from "vitest";
import {loadGeos} from "../../src/geo/geos.ts";
import {type ApplicatorSheetModel, applicatorSheetHtml} from "../../src/report/applicator-sheet.ts";
import {sheetModel} from "../report/applicator-model.ts";

// What comes out of a printer: Chromium prints the applicator's sheet, poppler reads the page.

console.log(execFileSync("chromium", ["--version"], {encoding: "utf8"}).trim());
beforeAll(loadGeos);

const PAPERS = {letter: [612, 792], a4: [595, 842]} as const;
const folder = mkdtempSync(join(tmpdir(), "loamwright-sheet-"));
afterAll(() => rmSync(folder, {recursive: true, force: true}));

interface Printed {
  readonly pages: number;
  readonly size: readonly [number, number];
  readonly text: string;
  /** Left, top, right and bottom of all words, points. */
  readonly box: readonly [number, number, number, number];
  /** Shades of grey on the page, 0 black to 255 white, by how many pixels have them. */
  readonly greys: ReadonlyMap<number, number>;
}

function print(model: ApplicatorSheetModel, paper: keyof typeof PAPERS): Printed {
  const [html, pdf] = [join(folder, "sheet.html"), join(folder, "sheet.pdf")];
  writeFileSync(html, applicatorSheetHtml(model, paper));
  const flags = ["--headless=new", "--no-sandbox", "--disable-gpu", "--no-pdf-header-footer"];
  execFileSync("chromium", [...flags, `--print-to-pdf=${pdf}`, `file://${html}`], {stdio: "ignore", timeout: 60_000});
  const boxes = execFileSync("pdftotext", ["-bbox", pdf, "-"], {encoding: "utf8"});
  const [, width, height] = /<page width="([\d.]+)" height="([\d.]+)"/.exec(boxes) ?? [];
  const words = [...boxes.matchAll(/<word xMin="([-\d.]+)" yMin="([-\d.]+)" xMax="([-\d.]+)" yMax="([-\d.]+)"/g)].map(
    (match) => match.slice(1).map(Number) as [number, number, number, number],
  );
  const grey = execFileSync("pdftoppm", ["-gray", "-r", "50", "-singlefile", pdf], {maxBuffer: 2 ** 26});
  const greys = new Map<number, number>();
  // A header of three lines, then a byte for each pixel.
  const from = /^P5\n.*\n.*\n/.exec(grey.toString("latin1"))?.[0].length ?? 0;
  for (const shade of grey.subarray(from)) greys.set(shade, (greys.get(shade) ?? 0) + 1);
  return {
    pages: boxes.split("<page ").length - 1,
    size: [Math.round(Number(width)), Math.round(Number(height))],
    text: execFileSync("pdftotext", ["-raw", pdf, "-"], {encoding: "utf8"}).replace(/\s+/g, " "),
    box: [
      Math.min(...words.map(([x]) => x)),
      Math.min(...words.map(([, y]) => y)),
      Math.max(...words.map(([, , x]) => x)),
      Math.max(...words.map(([, , , y]) => y)),
    ],
    greys,
  };
}

const CAUTION =
  "Unit G07 was held to the most the machine can spread, and gets 40 lb an acre less than its test asks for.";
const MODELS: readonly (readonly [string, () => ApplicatorSheetModel])[] = [
  ["one product and nothing to say", () => sheetModel(1)],
  ["two products", () => sheetModel(2)],
  [
    "three products, setbacks, cautions, all files",
    () => ({
      ...sheetModel(3),
      setbacks: Array.from({length: 12}, (_, i) => `Main ditch ${i + 1} (ditch): 0-46-1 nothing on 4.39 ac`),
      cautions: Array.from({length: 8}, () => CAUTION),
      files: [
        "rates-zone.geojson",
        "rates-zone.zip",
        "rates-zone.gpkg",
        "TASKDATA/TASKDATA.XML",
        "TASKDATA/GRD00001.BIN",
      ].map((name) => ({
        name,
        what: "ISO 11783 terminals: copy the folder TASKDATA to the root of the stick",
        sha256: "cd".repeat(32),
      })),
    }),
  ],
  ["six products", () => sheetModel(6)],
];

describe.each(MODELS)("%s", (_, model) => {
  test.each(["letter", "a4"] as const)(
    "stand on one page of %s, nothing off it, and are told apart in grey",
    (paper) => {
      const {pages, size, text, box, greys} = print(model(), paper);
      expect(pages).toBe(1);
      expect(size).toEqual(PAPERS[paper]);
      expect(box[0]).toBeGreaterThan(18);
      expect(box[2]).toBeLessThan(PAPERS[paper][0] - 18);
      expect(box[3]).toBeLessThan(PAPERS[paper][1] - 10);
      for (const {analysis} of model().products) expect(text).toContain(`${analysis}, lb per acre`);
      expect(text).toContain("200 lb/ac is 224.2 kg/ha");
      expect(text).toMatch(/1 of 1/);
      // 100 and 200 lb/ac cover whole quarters of each map, in two greys at least thirty steps apart.
      const [first, second] = [...greys].filter(([shade]) => shade > 20 && shade < 250).sort(([, a], [, b]) => b - a);
      expect(Math.abs((first?.[0] ?? 0) - (second?.[0] ?? 0))).toBeGreaterThanOrEqual(30);
    },
  );
});
