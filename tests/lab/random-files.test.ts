import {expect, it} from "vitest";
import {isFieldError} from "../../src/errors.ts";
import {findOutliers} from "../../src/lab/find-outliers.ts";
import {readLongLab} from "../../src/lab/long-table.ts";
import {matchTests} from "../../src/lab/match-tests.ts";
import {completeMapping, proposeMapping} from "../../src/lab/propose-mapping.ts";
import {proposeMatches} from "../../src/lab/propose-matches.ts";
import {readLab} from "../../src/lab/read-lab.ts";
import {idKey} from "../../src/lab/sample-id.ts";
import {valuesOf} from "../../src/lab/values-of.ts";
import {seededRandom} from "../../src/stats/random.ts";
import type {Table} from "../../src/table.ts";

const FILES = 2000;

const ID_HEADS = ["Sample ID", "Bag", "ID", "Lab No", "Grid", "sample_no", "Ref", ""];
const RESULT_HEADS = [
  "P (Mehlich 3 ICP) ppm",
  "K M3 ppm",
  "P",
  "P1 ppm",
  "Olsen P (ppm)",
  "pH",
  "Buffer pH SMP",
  "Lime Index",
  "OM LOI %",
  "CEC meq/100g",
  "K2O lb/ac",
  "BS-K %",
  "P Rating",
  "Zn DTPA ppm",
  "Mehlich P",
  "Notes",
  "P",
];
const LONG_HEADS = ["Sample", "Parameter", "Result", "Units", "Method", "Field", "Depth"];
const JUNK = [
  "",
  "-",
  "<1",
  ">200",
  "NS",
  "ND",
  "12 L",
  "1,150",
  "very low",
  "=1+1",
  "1e9",
  "-4",
  "NaN",
  "\u0000",
  "12.5.1",
  "٣",
];
const JUNK_IDS = ["", "Average", "Total", "2-Jan", "1.00E+05", " ", "__proto__", "constructor", "KFG1", "007", "é"];

// Each planned sample carries a phosphorus value of its own, so that a join to a wrong unit cannot go unseen.
const PLAN = Array.from({length: 12}, (_, i) => `KFG${String(i + 1).padStart(2, "0")}`);
const tagOf = (i: number): number => 10 + i + 0.25;

type Pick = <T>(from: readonly T[]) => T;

function wideFile(random: () => number, pick: Pick): Table {
  const heads = Array.from({length: 1 + Math.floor(random() * 6)}, () => pick(RESULT_HEADS));
  const header = [pick(ID_HEADS), "P check (Mehlich 3 ICP) ppm".replace("check ", ""), ...heads];
  const count = Math.floor(random() * 15);
  const rows = Array.from({length: count}, () => {
    const i = Math.floor(random() * PLAN.length);
    const respelled = pick([
      PLAN[i] as string,
      (PLAN[i] as string).toLowerCase(),
      ` ${PLAN[i]} `,
      (PLAN[i] as string).replace("0", "O"),
    ]);
    const id = random() < 0.2 ? pick(JUNK_IDS) : respelled;
    const results = heads.map(() => (random() < 0.5 ? pick(JUNK) : String(Math.floor(random() * 100))));
    return [id, String(tagOf(i)), ...results];
  });
  return {file: "random.csv", header, rows, firstRow: 2};
}

function longFile(random: () => number, pick: Pick): Table {
  const rows = Array.from({length: Math.floor(random() * 25)}, () => {
    const i = Math.floor(random() * PLAN.length);
    const isP = random() < 0.6;
    return [
      random() < 0.15 ? pick(JUNK_IDS) : (PLAN[i] as string),
      isP ? "P" : pick(["K", "pH", "OM", "Nitrate", "", "P2O5"]),
      isP ? String(tagOf(i)) : pick(JUNK),
      isP ? "ppm" : pick(["ppm", "", "lb/ac", "bushels"]),
      isP ? "mehlich-3 icp" : pick(["", "M3", "1:1 water", "LOI"]),
      pick(["North", "North", "South"]),
      pick(["0-8 in", "0-8 in", "", "20 cm", "x"]),
    ];
  });
  return {file: "random.csv", header: LONG_HEADS, rows, firstRow: 2};
}

it(`${FILES} random files: read, or refused in words; never a crash, never a result at a wrong unit`, () => {
  const source = seededRandom(20250402, "random lab files");
  const random = (): number => source.next();
  const pick: Pick = (from) => from[Math.floor(random() * from.length)] as (typeof from)[number];
  let joined = 0;
  let refused = 0;
  for (let n = 0; n < FILES; n++) {
    const table = random() < 0.6 ? wideFile(random, pick) : longFile(random, pick);
    const before = JSON.stringify(table);
    try {
      const proposal = proposeMapping(table);
      const {questions, sampleId, long, decimal} = proposal;
      // Answers as a person might give them, right or wrong.
      const answers = questions.flatMap(({column, about, choices}) =>
        column === undefined || about === "depth" || about === "sample id"
          ? []
          : [{column, [about]: choices[Math.floor(random() * choices.length)] as string}],
      );
      const merged = [...new Set(answers.map(({column}) => column))].map((column) =>
        Object.assign({}, ...answers.filter((answer) => answer.column === column)),
      );
      const {tests, issues} = long
        ? readLongLab(table, {sampleId: sampleId ?? "Sample", ...long, depthM: 0.2032, decimal})
        : readLab(
            table,
            completeMapping(proposal, {depthM: 0.2032, sampleId: sampleId ?? table.header[0] ?? "", answers: merged}),
            {decimal},
          );
      expect(issues.every(({message}) => message.length > 0)).toBe(true);
      findOutliers(tests);
      const ids = [...new Set(tests.map((test) => test.sampleId))];
      for (const {reportId, unitId} of proposeMatches(ids, PLAN)) expect(idKey(reportId)).not.toBe(idKey(unitId));
      const {byUnit} = matchTests(tests, PLAN);
      for (const [unit, found] of byUnit) {
        for (const test of found) {
          expect(idKey(test.sampleId)).toBe(idKey(unit));
          const isTagged = test.analyte === "P" && test.method === "mehlich-3 icp" && test.value % 1 === 0.25;
          if (isTagged) {
            expect(test.value).toBe(tagOf(PLAN.indexOf(unit)));
            joined++;
          }
        }
      }
      valuesOf(byUnit);
    } catch (error) {
      if (!isFieldError(error)) throw error;
      expect(error.message).not.toBe("");
      refused++;
    }
    expect(JSON.stringify(table)).toBe(before);
  }
  // Both ends of the road were walked often.
  expect(joined).toBeGreaterThan(500);
  expect(refused).toBeGreaterThan(200);
}, 60_000);
