import {beforeAll, describe, expect, it} from "vitest";
import {harvest, type LogRecord, MIXING_S, TRANSPORT_S} from "../../sample-data/make/combine.ts";
import {expectedYieldOf} from "../../sample-data/make/crop.ts";
import {dirtied} from "../../sample-data/make/dirt.ts";
import {kilnForty as field, millrace, type Season} from "../../sample-data/make/farm.ts";
import {loadGeos} from "../../src/geo/geos.ts";
import {boxOf, contains} from "../../src/geo/measure.ts";
import {BUSHEL, SQUARE_METRES_PER_ACRE} from "../../src/units/factors.ts";

const [corn2023, soybean2024, corn2025] = field.seasons as [Season, Season, Season];
let dry: LogRecord[];

beforeAll(async () => {
  await loadGeos();
  dry = harvest(field, corn2023);
});

const dryBushels = ({flowLbPerS, intervalS, moisturePct}: LogRecord): number =>
  (flowLbPerS * intervalS * (100 - moisturePct)) / (100 - BUSHEL.corn.moisturePct) / BUSHEL.corn.pounds;

describe("a harvest before anything goes wrong", () => {
  it("brings in the crop that stood there", () => {
    // All grain counts, also that sensed with the header up. Headers leave slivers of odd shape standing: under 2 %.
    const yieldAt = expectedYieldOf(field, corn2023);
    const box = boxOf(field.outline);
    let stood = 0;
    for (let x = box.west + 1; x < box.east; x += 2) {
      for (let y = box.south + 1; y < box.north; y += 2) {
        if (contains(field.outline, x, y)) stood += (yieldAt(x, y) * 4) / SQUARE_METRES_PER_ACRE;
      }
    }
    const sensed = dry.reduce((sum, record) => sum + dryBushels(record), 0);
    expect(Math.abs(sensed / stood - 1)).toBeLessThan(0.02);
  });

  it("shows the grain 12 s and the mixing later than it was cut", () => {
    // Mean lag of a 12 s pipe and a first-order mixer sampled each second: 12 + a / (1 - a), a = exp(-1/4): 15.52 s.
    const a = Math.exp(-1 / MIXING_S);
    expect(TRANSPORT_S + a / (1 - a)).toBeCloseTo(15.52, 2);
    const yieldAt = expectedYieldOf(field, corn2023);
    const steady = [...dry.keys()].filter((i) => inMidPass(dry, i));
    const matchAt = (lag: number): number =>
      correlation(
        steady.map((i) => yieldAt(dry[i]?.x ?? 0, dry[i]?.y ?? 0)),
        steady.map((i) => dryBushels(dry[i + lag] as LogRecord) / (dry[i]?.distanceFt ?? 1)),
      );
    const lags = [0, 4, 8, 12, 13, 14, 15, 16, 17, 18, 22, 26];
    const best = lags.reduce((top, lag) => (matchAt(lag) > matchAt(top) ? lag : top));
    expect(best).toBeGreaterThanOrEqual(13);
    expect(best).toBeLessThanOrEqual(17);
    expect(matchAt(best)).toBeGreaterThan(matchAt(0) + 0.1);
  });

  it("has true zeros where the crop drowned, and none in the dry year", () => {
    // Millrace's hollow is about 80 m long: longer than the lag, so that the mixed flow falls to nothing.
    const zeros = (season: Season): LogRecord[] =>
      harvest(millrace, season).filter((record, i, all) => inMidPass(all, i) && record.flowLbPerS < 1);
    const drowned = zeros(corn2025);
    expect(drowned.length).toBeGreaterThan(20);
    // Seen up to 20 s late at 2 m/s, so within 40 m of the edge of a hollow that reaches 45 m.
    const fromHollow = ({x, y}: LogRecord): number =>
      Math.min(...millrace.hollows.map(({at}) => Math.hypot(x - at[0], y - at[1])));
    for (const record of drowned) expect(fromHollow(record)).toBeLessThan(85);
    expect(zeros(corn2023)).toEqual([]);
  });

  it("stops now and then", () => {
    expect(dry.filter((record) => record.headerDown && record.distanceFt < 0.3).length).toBeGreaterThan(5);
  });

  it("cuts less than its swath at the last pass", () => {
    // Inside two headland rounds of 35 ft, 359 m are left: 33 swaths of 35 ft and 0.7 of one.
    const log = harvest(field, soybean2024);
    const last = Math.max(...log.map(({pass}) => pass));
    const perFoot = (pass: number): number => {
      const records = log.filter((record, i) => record.pass === pass && inMidPass(log, i));
      return records.reduce((sum, r) => sum + r.flowLbPerS, 0) / records.reduce((sum, r) => sum + r.distanceFt, 0);
    };
    expect(perFoot(last) / perFoot(last - 1)).toBeGreaterThan(0.5);
    expect(perFoot(last) / perFoot(last - 1)).toBeLessThan(0.85);
  });
});

describe("the dirt in a log", () => {
  it("spikes, drops, jumps, repeats and loses its fix", () => {
    const log = dirtied(dry, field, corn2023);
    const most = dry.reduce((top, {flowLbPerS}) => Math.max(top, flowLbPerS), 0);
    const at = new Map(dry.map((record) => [record.timeS, record]));
    const jumps = log.filter(
      ({timeS, x, y}) => Math.hypot(x - (at.get(timeS)?.x ?? 0), y - (at.get(timeS)?.y ?? 0)) > 20,
    );
    expect(log.filter(({flowLbPerS}) => flowLbPerS > 1.3 * most).length).toBeGreaterThan(2);
    expect(log.filter(({moisturePct}) => moisturePct === undefined || moisturePct === 0).length).toBeGreaterThan(10);
    expect(log.filter(({fixLost}) => fixLost).length).toBeGreaterThan(0);
    expect(jumps.length).toBeGreaterThan(2);
    expect(new Set(log.map(({timeS}) => timeS)).size).toBeLessThan(log.length - 20);
  });

  it("touches few records", () => {
    const clean = new Map(dry.map((record) => [record.timeS, record]));
    const log = dirtied(dry, field, corn2023);
    const same = log.filter((record) => {
      const was = clean.get(record.timeS) as LogRecord;
      return was.x === record.x && was.flowLbPerS === record.flowLbPerS && was.moisturePct === record.moisturePct;
    });
    expect(same.length / log.length).toBeGreaterThan(0.95);
  });
});

/** In the middle of a pass, at working speed for the 35 s before and after. */
function inMidPass(records: readonly LogRecord[], i: number): boolean {
  const {pass, intervalS} = records[i] as LogRecord;
  const away = Math.ceil(35 / intervalS);
  const around = records.slice(Math.max(0, i - away), i + away + 1);
  const working = (r: LogRecord): boolean => r.headerDown && r.pass === pass && r.distanceFt > 4 * r.intervalS;
  return around.length === 2 * away + 1 && around.every(working);
}

function correlation(a: readonly number[], b: readonly number[]): number {
  const mean = (v: readonly number[]): number => v.reduce((sum, x) => sum + x, 0) / v.length;
  const [ma, mb] = [mean(a), mean(b)];
  const product = (p: readonly number[], mp: number, q: readonly number[], mq: number): number =>
    p.reduce((sum, x, i) => sum + (x - mp) * ((q[i] as number) - mq), 0);
  return product(a, ma, b, mb) / Math.sqrt(product(a, ma, a, ma) * product(b, mb, b, mb));
}
