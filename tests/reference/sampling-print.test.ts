import {execFileSync} from "node:child_process";
import {mkdtempSync, readFileSync, rmSync, writeFileSync} from "node:fs";
import {tmpdir} from "node:os";
import {join} from "node:path";
import {afterAll, beforeAll, describe, expect, test} from "vitest";
import {samplingPapers} from "../../src/pipeline/make-sampling-papers.ts";
import {readJob} from "../../src/pipeline/read-job.ts";
import type {RunResult} from "../../src/pipeline/run.ts";
import {bagsOf} from "../../src/report/sampling-bags.ts";
import {runJobFile} from "../jobs/run-job.ts";

// What comes out of a printer: Chromium prints the crew's papers of both sample jobs, poppler reads the pages.

console.log(execFileSync("chromium", ["--version"], {encoding: "utf8"}).trim());

const PAPERS = {letter: [612, 792], a4: [595, 842]} as const;

interface Word {
  readonly text: string;
  readonly box: readonly [xMin: number, yMin: number, xMax: number, yMax: number];
}

interface Page {
  readonly width: number;
  readonly height: number;
  readonly words: readonly Word[];
}

function print(folder: string, name: string): Page[] {
  const pdf = join(folder, `${name}.pdf`);
  execFileSync(
    "chromium",
    [
      "--headless=new",
      "--no-sandbox",
      "--disable-gpu",
      "--no-pdf-header-footer",
      `--print-to-pdf=${pdf}`,
      `file://${join(folder, name)}`,
    ],
    {stdio: "ignore", timeout: 60_000},
  );
  const text = execFileSync("pdftotext", ["-bbox", pdf, "-"], {encoding: "utf8", maxBuffer: 2 ** 27});
  return text
    .split("<page ")
    .slice(1)
    .map((page) => {
      const [, width, height] = /width="([\d.]+)" height="([\d.]+)"/.exec(page) ?? [];
      const words = [
        ...page.matchAll(/<word xMin="([-\d.]+)" yMin="([-\d.]+)" xMax="([-\d.]+)" yMax="([-\d.]+)">([^<]*)</g),
      ];
      return {
        width: Number(width),
        height: Number(height),
        words: words.map(([, a, b, c, d, word = ""]) => ({
          text: word,
          box: [Number(a), Number(b), Number(c), Number(d)] as const,
        })),
      };
    });
}

describe.each(["millrace", "kiln-forty"])("the printed papers of %s", (name) => {
  const folder = mkdtempSync(join(tmpdir(), "loamwright-print-"));
  const path = `sample-data/${name}/job.json`;
  let run: RunResult;

  beforeAll(async () => {
    run = await runJobFile(path);
  });
  afterAll(() => rmSync(folder, {recursive: true, force: true}));

  test.each(
    (["letter", "a4"] as const).flatMap((paper) =>
      (["whole-field", "grid", "zone"] as const).map((strategy) => [strategy, paper] as const),
    ),
  )("%s on %s: every id on the page, nothing off it, no empty page", (strategy, paper) => {
    const plan = run.strategies.find((found) => found.plan.strategy === strategy)?.plan;
    if (!plan) throw new Error(`no ${strategy} plan`);
    const job = readJob(readFileSync(path, "utf8"), path);
    for (const [file, bytes] of samplingPapers(job, run.field, plan, paper)) {
      if (file.endsWith(".html")) writeFileSync(join(folder, file), bytes);
    }
    const ids = bagsOf(plan).map(({id}) => id);
    const [width, height] = PAPERS[paper];
    for (const kind of ["sheet", "labels"] as const) {
      const pages = print(folder, `plan-${strategy}-${kind}.html`);
      for (const page of pages) {
        expect(Math.abs(page.width - width)).toBeLessThan(1);
        expect(Math.abs(page.height - height)).toBeLessThan(1);
        // The foot alone makes no page.
        expect(page.words.length).toBeGreaterThan(25);
        for (const {text, box} of page.words) {
          const [xMin, yMin, xMax, yMax] = box;
          expect([text, xMin >= 0 && yMin >= 0 && xMax <= page.width && yMax <= page.height]).toEqual([text, true]);
        }
      }
      const printed = pages.flatMap(({words}) => words.map(({text}) => text));
      // On the sheet once on the map and once in the list, at least.
      const least = kind === "sheet" ? 2 : 1;
      for (const id of ids) expect([id, printed.filter((text) => text === id).length >= least]).toEqual([id, true]);
      if (kind === "labels") expect(pages).toHaveLength(Math.ceil(ids.length / 21));
    }
  });
});
