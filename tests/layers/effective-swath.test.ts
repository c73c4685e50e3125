import {describe, expect, it} from "vitest";
import {loadGeos} from "../../src/geo/geos.ts";
import {cleanYield} from "../../src/layers/clean-yield.ts";
import {YIELD_REASONS} from "../../src/layers/yield-reasons.ts";
import {makeLog, recordAt} from "./make-log.ts";

await loadGeos();
const STILL = {delayS: 0} as const;

/** A log whose last pass lies so far over the one before, with flow from what was left to cut. */
function overlapping(overlapM: number) {
  const made = makeLog({passes: 6, swathM: 10});
  const {log} = made;
  const last = [...log.x.keys()].filter((i) => (made.fromWest[i] as number) > 50);
  const x = log.x.slice();
  const flowKgPerS = log.flowKgPerS.slice();
  for (const i of last) {
    x[i] = (x[i] as number) - overlapM;
    flowKgPerS[i] = ((flowKgPerS[i] as number) * (10 - overlapM)) / 10;
  }
  return {...made, log: {...log, x, flowKgPerS}, inLast: recordAt(made, 55, 150)};
}

describe("the width in standing crop", () => {
  it("is the recorded width where passes lie side by side", () => {
    const {log, field} = makeLog({passes: 6});
    const cleaned = cleanYield(log, field, STILL);
    const kept = [...cleaned.reason.keys()].filter((i) => cleaned.reason[i] === 0);
    for (const i of kept) expect(cleaned.swathM[i]).toBe(9);
  });

  it("is what the passes before have left, to half a metre", () => {
    const {log, field, inLast} = overlapping(3);
    const cleaned = cleanYield(log, field, STILL);
    expect(Math.abs((cleaned.swathM[inLast] as number) - 7)).toBeLessThanOrEqual(0.5);
    expect(Math.abs((cleaned.yieldTPerHa[inLast] as number) - 10)).toBeLessThan(0.8);
    const plain = cleanYield(log, field, {...STILL, effectiveSwath: false});
    expect(plain.yieldTPerHa[inLast]).toBeCloseTo(7, 9);
  });

  it("under half of the header sets a record aside", () => {
    const {log, field, inLast} = overlapping(6);
    const cleaned = cleanYield(log, field, STILL);
    expect(YIELD_REASONS[cleaned.reason[inLast] as number]).toBe("partial-swath");
  });

  it("is not narrowed by a pass that brought no grain", () => {
    // The machine drove home along the last strip, header down and empty, before cutting it.
    const made = makeLog({passes: 6, swathM: 10});
    const strip = [...made.log.x.keys()].filter((i) => (made.fromWest[i] as number) > 54);
    const twice = {...made.log};
    for (const [name, column] of Object.entries(made.log)) {
      if (!(column instanceof Float64Array)) continue;
      const home = strip.map((i) => {
        const value = column[i] as number;
        if (name === "timeS") return value - 5000;
        if (name === "x") return value + 0.3;
        return name === "flowKgPerS" ? 0 : value;
      });
      Object.assign(twice, {[name]: Float64Array.from([...column, ...home])});
    }
    const cleaned = cleanYield(twice, made.field, STILL);
    expect(cleaned.swathM[recordAt(made, 55, 150)]).toBe(10);
  });

  it("in a log with rows taken out sets both of two overlapping passes aside, corrects nothing", () => {
    const {log, field, fromWest, fromSouth} = overlapping(4);
    // Two rows of three are gone, and one pass stands at the end of the file as a second part of itself.
    const thin = [...log.x.keys()].filter((i) => i % 3 === 0);
    const late = [...log.x.keys()].filter((i) => i % 3 === 1 && (fromWest[i] as number) < 10);
    const rows = [...thin, ...late];
    const split: Record<string, unknown> = {...log};
    for (const [name, column] of Object.entries(log)) {
      if (column instanceof Float64Array) split[name] = Float64Array.from(rows, (i) => column[i] as number);
    }
    const {timeS, ...timeless} = split as unknown as typeof log;
    const cleaned = cleanYield(timeless, field, STILL);
    expect(cleaned.issues.map(({code}) => code)).toContain("yield/rows-missing");
    const reasons = (x: number): Set<string> =>
      new Set(
        rows.flatMap((row, n) => {
          const inner = Math.abs((fromWest[row] as number) - x) < 1 && Math.abs((fromSouth[row] as number) - 150) < 90;
          return inner ? [YIELD_REASONS[cleaned.reason[n] as number] as string] : [];
        }),
      );
    expect([...reasons(55)]).toEqual(["partial-swath"]); // the last pass, 4 m over the one before
    expect([...reasons(45)]).toEqual(["partial-swath"]);
    expect([...reasons(25)]).toEqual(["kept"]);
    expect([...reasons(5)]).toEqual(["kept"]); // logged in two parts: no overlap with itself
    expect(cleaned.swathM.every((width) => width === 10)).toBe(true);
  });

  it("is clipped to a boundary drawn to the metre, when asked", () => {
    const {log, field} = makeLog({passes: 6, swathM: 10});
    const west = [...log.x.keys()].filter((i) => i < 150);
    const x = log.x.map((value, i) => (west.includes(i) ? value - 4 : value));
    const clipped = cleanYield({...log, x}, field, {...STILL, clipSwathToBoundary: true});
    expect(Math.abs((clipped.swathM[75] as number) - 6)).toBeLessThanOrEqual(0.5);
    expect(cleanYield({...log, x}, field, STILL).swathM[75]).toBe(10);
  });

  it("is not touched where the recorded width is plainly too wide", () => {
    const {log, field} = makeLog({passes: 8, swathM: 6});
    const wide = {...log, swathM: log.swathM.map(() => 9)};
    const cleaned = cleanYield(wide, field, STILL);
    expect(cleaned.issues.map((issue) => issue.code)).toContain("yield/width-too-wide");
    expect(cleaned.swathM[75]).toBe(9);
  });
});
