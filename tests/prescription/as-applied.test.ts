import {beforeAll, describe, expect, it} from "vitest";
import {loadGeos} from "../../src/geo/geos.ts";
import {compareApplied} from "../../src/prescription/as-applied/compare-applied.ts";
import {SQUARE_METRES_PER_ACRE} from "../../src/units/factors.ts";
import {
  ALL_PASSES,
  drive,
  HEIGHT,
  logOf,
  oblong,
  type Row,
  SPEED,
  SWATH,
  threeZones,
  WIDTH,
  zoneRate,
} from "./as-applied-logs.ts";

beforeAll(loadGeos);

const acres = (areaM2: number): number => areaM2 / SQUARE_METRES_PER_ACRE;
const compare = (rows: readonly Row[], rates?: readonly number[]) =>
  compareApplied(oblong, threeZones(rates), logOf(rows)).comparison;
const PASS = WIDTH * SWATH;

describe("an as-applied log of a prescription of three zones, by hand", () => {
  it("put out as planned differs nowhere", () => {
    const {units, field, outside, loggedLb, records, passes, total} = compare(drive(ALL_PASSES));
    expect(units.map(({unit, plannedLb}) => [unit, plannedLb])).toEqual(
      [100, 200, 300].map((rate, i) => [`Z${i + 1}`, expect.closeTo(rate * acres(200 * HEIGHT), 6)]),
    );
    for (const row of [...units, field]) {
      expect(row.differenceLb).toBeCloseTo(0, 6);
      expect(row.coveredAcres).toBeCloseTo(row.acres, 9);
      expect([row.gapAcres, row.overlapAcres, row.underAcres, row.overAcres, row.offAcres]).toEqual([0, 0, 0, 0, 0]);
    }
    expect(outside).toEqual({acres: 0, appliedLb: 0});
    expect(loggedLb).toBeCloseTo(total.plannedLb, 6);
    expect([records.all, records.used, records.byReason, passes]).toEqual([1440, 1440, {}, 12]);
  });

  it("a pass skipped is a gap of just its ground and product", () => {
    const {field, units} = compare(drive(ALL_PASSES.filter((pass) => pass !== 4)));
    expect(field.gapAcres).toBeCloseTo(acres(PASS), 9);
    expect(field.gapLb).toBeCloseTo(acres(200 * SWATH) * 600, 6);
    expect(field.differenceLb).toBeCloseTo(-acres(200 * SWATH) * 600, 6);
    expect(units.map(({gapAcres}) => gapAcres)).toEqual([1, 2, 3].map(() => expect.closeTo(acres(200 * SWATH), 9)));
    expect(field.offAcres).toBeCloseTo(field.gapAcres, 9);
  });

  it("a pass driven twice is an overlap of just its ground and product, and over the planned rate", () => {
    const {field, total} = compare(drive([...ALL_PASSES, 7]));
    expect(field.overlapAcres).toBeCloseTo(acres(PASS), 9);
    expect(field.overlapLb).toBeCloseTo(acres(200 * SWATH) * 600, 6);
    expect(total.differenceLb).toBeCloseTo(acres(200 * SWATH) * 600, 6);
    expect(field.overAcres).toBeCloseTo(acres(PASS), 9);
    expect(field.gapAcres).toBe(0);
  });

  it("a swath too wide by 2 m overlaps by 2 m between passes and lands 1 m outside at both sides", () => {
    const {field, outside} = compare(drive(ALL_PASSES).map((row) => ({...row, swath: SWATH + 2})));
    expect(field.overlapAcres).toBeCloseTo(acres(11 * 2 * WIDTH), 9);
    expect(outside.acres).toBeCloseTo(acres(2 * 1 * WIDTH), 9);
  });

  it("a rate 12 % high in one zone is off there and nowhere else; 8 % is within the tolerance", () => {
    const high = (factor: number) =>
      compare(drive(ALL_PASSES, (x, h) => zoneRate([100, 200 * factor, 300])(x - (h * SPEED) / 2)));
    expect(high(1.12).units.map(({overAcres}) => overAcres)).toEqual([0, expect.closeTo(acres(200 * HEIGHT), 9), 0]);
    expect(high(1.12).units[1]?.differencePct).toBeCloseTo(12, 9);
    expect(high(1.08).field.offAcres).toBe(0);
  });

  it("ground beyond the boundary is outside the field, not on a unit", () => {
    const {outside, field, total} = compare(drive([...ALL_PASSES, 12]));
    expect(outside.acres).toBeCloseTo(acres(PASS), 9);
    expect(outside.appliedLb).toBeCloseTo(acres(200 * SWATH) * 600, 6);
    expect(field.differenceLb).toBeCloseTo(0, 6);
    expect(total.appliedLb).toBeCloseTo(field.appliedLb + outside.appliedLb, 9);
    // Far away: beyond the picture of the field altogether.
    const far = compare(drive([...ALL_PASSES, 40]));
    expect(far.outside.acres).toBeCloseTo(acres(PASS), 9);
    expect(far.issues.map(({code}) => code)).toContain("as-applied/outside");
  });

  it("ground planned at zero and left alone is no gap; product on it is over", () => {
    const spared = drive(ALL_PASSES, (x, h) => zoneRate([100, 0, 300])(x - (h * SPEED) / 2));
    const right = compare(spared, [100, 0, 300]);
    expect([right.field.gapAcres, right.field.offAcres, right.units[1]?.appliedLb]).toEqual([0, 0, 0]);
    expect(right.records.byReason).toEqual({"rate zero": 480});
    const wrong = compare(drive(ALL_PASSES), [100, 0, 300]);
    expect(wrong.units[1]?.overAcres).toBeCloseTo(acres(200 * HEIGHT), 9);
    expect(wrong.units[1]?.differencePct).toBeNaN();
  });

  it("works rates out of amounts, swath and distance where none are logged", () => {
    const rows = drive(ALL_PASSES);
    const {rateLbPerAcre, ...rest} = logOf(rows);
    const massLb = (rateLbPerAcre as Float64Array).map((rate) => rate * acres(SPEED * SWATH));
    const {field, loggedLb} = compareApplied(oblong, threeZones(), {...rest, massLb}).comparison;
    expect(field.differenceLb).toBeCloseTo(0, 6);
    expect(loggedLb).toBeCloseTo(field.plannedLb, 6);
  });
});

describe("a bend", () => {
  /** Half a circle about the middle of the field, a record every so many degrees. */
  const arc = (radius: number, degrees: number): Row[] =>
    Array.from({length: 180 / degrees + 1}, (_, i) => {
      const angle = (i * degrees * Math.PI) / 180;
      const at = {x: 300 + radius * Math.cos(angle), y: 100 + radius * Math.sin(angle)};
      // The first record would stand for ground before it.
      return {...at, t: i, rate: i === 0 ? 0 : 200, pass: 0, on: 1, swath: SWATH};
    });
  const cover = (rows: readonly Row[]) =>
    compareApplied(oblong, threeZones(), logOf(rows), {cellM: 0.1}).comparison.field;

  it("of 80 m radius covers its trapezoids, without wedges bare or doubled", () => {
    const {coveredAcres, overlapAcres} = cover(arc(80, 2));
    const ground = 90 * 0.5 * Math.sin((2 * Math.PI) / 180) * (90 ** 2 - 70 ** 2);
    expect(Math.abs(coveredAcres / acres(ground) - 1)).toBeLessThan(0.002);
    expect(overlapAcres).toBe(0);
  });

  it("tighter than half the swath doubles ground on its inside, which is no overlap of passes", () => {
    expect(cover(arc(6, 15)).overlapAcres).toBe(0);
    const again = cover([...arc(6, 15), ...arc(6, 15).map((row) => ({...row, t: row.t + 100}))]);
    expect(again.overlapAcres).toBeGreaterThan(0.9 * again.coveredAcres);
  });
});

describe("the lag of a machine behind the map", () => {
  const late = (seconds: number) => drive(ALL_PASSES, (x, heading) => zoneRate()(x - heading * SPEED * seconds));

  it.each([3, 6, 0, -2])("of %s s is found, in seconds and metres", (seconds) => {
    const {lag} = compare(late(seconds));
    expect(lag.refused).toBeUndefined();
    // A record each second, read at half seconds and refined between them.
    expect(Math.abs((lag.lagS as number) - seconds)).toBeLessThanOrEqual(0.2);
    expect(lag.lagM).toBeCloseTo((lag.lagS as number) * SPEED, 6);
  });

  it("of 3 s is found under noise of 5 % in the rate", () => {
    let state = 7;
    const noise = (): number => {
      state = (state * 1103515245 + 12345) % 2 ** 31;
      return state / 2 ** 31 - 0.5;
    };
    const {lag} = compare(late(3).map((row) => ({...row, rate: row.rate * (1 + 0.17 * noise())})));
    expect(Math.abs((lag.lagS as number) - 3)).toBeLessThanOrEqual(0.5);
  });

  it("is refused where nothing varies, and where the log does not follow the map", () => {
    expect(
      compare(
        drive(ALL_PASSES, () => 200),
        [200, 200, 200],
      ).lag.refused,
    ).toMatch(/planned rate does not vary/);
    expect(compare(drive(ALL_PASSES, () => 200)).lag.refused).toMatch(/logged rate does not vary/);
    const wild = compare(drive(ALL_PASSES, (x) => 200 + 50 * Math.sin(x * 12.9898)));
    expect(wild.lag.refused).toMatch(/does not follow/);
  });

  it("is told in metres alone where the log has no time", () => {
    const {timeS: _, ...log} = logOf(late(3));
    const {lag} = compareApplied(oblong, threeZones(), log).comparison;
    expect(lag.lagS).toBeUndefined();
    expect(Math.abs((lag.lagM as number) - 15)).toBeLessThanOrEqual(2.5);
  });
});

describe("dirt in a log", () => {
  const clean = drive(ALL_PASSES);

  it("is counted by reason; what is left adds up as before", () => {
    const dirty: Row[] = clean.flatMap((row, i) => {
      if (i === 100) return [row, {...row}];
      if (i === 200) return [row, {...row, t: row.t + 0.5, x: 5000, y: 9000}];
      if (i === 300) return [row, {...row, t: row.t + 0.5, x: Number.NaN}];
      return [row];
    });
    const turn = clean[119] as Row;
    dirty.splice(123, 0, ...[1, 2, 3].map((s) => ({...turn, t: turn.t + s, on: 0, y: turn.y + 5 * s})));
    const {records, field} = compare(dirty);
    expect(records.byReason).toEqual({duplicate: 1, "position jump": 1, "no position": 1, "switched off": 3});
    expect(records.all).toBe(1446);
    expect(field.differenceLb).toBeCloseTo(0, 6);
    expect(field.gapAcres).toBe(0);
  });

  it("a swath of zero, a rate of zero, a missing one and a negative one each leave their ground bare", () => {
    const dirty = clean.map((row, i) =>
      i === 10
        ? {...row, swath: 0}
        : i === 50
          ? {...row, rate: 0}
          : i === 60
            ? {...row, rate: Number.NaN}
            : i === 70
              ? {...row, rate: -5}
              : row,
    );
    const {records, field} = compare(dirty);
    expect(records.byReason).toEqual({"no swath": 1, "rate zero": 1, "no rate": 1, "rate below zero": 1});
    expect(field.gapAcres).toBeCloseTo(acres(4 * SPEED * SWATH), 9);
  });

  it("a gap in time is not bridged, a standing machine covers nothing", () => {
    const late = clean.filter((_, i) => i < 60 || i >= 75).map((row, i) => (i >= 60 ? {...row, t: row.t + 60} : row));
    // The first record after the gap covers its own step and no more.
    expect(compare(late).field.gapAcres).toBeCloseTo(acres(15 * SPEED * SWATH), 9);
    const stop = clean.flatMap((row, i) =>
      i === 40 ? [row, {...row, t: row.t + 0.3}, {...row, t: row.t + 0.6}] : [row],
    );
    const {records, field} = compare(stop);
    expect(records.byReason).toEqual({standing: 2});
    expect(field.overlapAcres).toBe(0);
  });

  it("where rows were taken out a record stands for the distance it logged; a distance in the wrong unit is left alone", () => {
    const thinned = clean.filter((_, i) => i % 40 < 10 || i % 7 === 0);
    const log = logOf(thinned);
    const distances = new Float64Array(thinned.length).fill(SPEED);
    const kept = compareApplied(oblong, threeZones(), {...log, distanceM: distances}).comparison;
    expect(kept.field.coveredAcres).toBeCloseTo(acres(thinned.length * SPEED * SWATH), 6);
    const feet = compareApplied(oblong, threeZones(), {
      ...logOf(clean),
      distanceM: logOf(clean).x.map(() => SPEED / 3.2808),
    });
    expect(feet.comparison.issues.map(({code}) => code)).toContain("as-applied/distance-odd");
    expect(feet.comparison.field.coveredAcres).toBeCloseTo(feet.comparison.field.acres, 6);
  });

  it("rows in no order give their rate to the nearest ground, and say what cannot be told", () => {
    const {timeS: _, ...log} = logOf(clean.map((_, i) => clean[(i * 577) % clean.length] as Row));
    const {how, field, lag, issues, records} = compareApplied(oblong, threeZones(), log).comparison;
    expect([how, records.used]).toEqual(["nearest record", 1440]);
    expect(field.coveredAcres / field.acres).toBeGreaterThan(0.99);
    expect(Math.abs(field.differencePct)).toBeLessThan(1.5);
    expect(field.overlapAcres).toBeNaN();
    expect(lag.refused).toMatch(/do not follow one another/);
    expect(issues.map(({code}) => code)).toContain("as-applied/no-order");
  });

  it("the order of the rows does not matter where they have times", () => {
    const shuffled = clean.map((_, i) => clean[(i * 577) % clean.length] as Row);
    const {issues: _a, records: _b, ...a} = compare(shuffled);
    const {issues: _c, records: _d, ...b} = compare(clean);
    expect(a).toEqual(b);
  });

  it("refuses a log of nothing, one without width, and one of another field", () => {
    const codes = (work: () => unknown): string => {
      try {
        work();
        return "nothing thrown";
      } catch (error) {
        return (error as {code: string}).code;
      }
    };
    const {swathM: _, ...narrow} = logOf(clean);
    expect(codes(() => compareApplied(oblong, threeZones(), narrow))).toBe("as-applied/no-swath");
    expect(codes(() => compare(clean.map((row) => ({...row, rate: 0}))))).toBe("as-applied/nothing-usable");
    expect(codes(() => compare(clean.map((row) => ({...row, y: row.y + 4000}))))).toBe("as-applied/elsewhere");
    expect(compareApplied(oblong, threeZones(), narrow, {swathM: SWATH}).comparison.field.gapAcres).toBe(0);
  });
});

it("a fifth of a million records take under a second", () => {
  const rows: Row[] = [];
  for (let n = 0; rows.length < 200_000; n++) {
    const heading = n % 2 === 0 ? 1 : -1;
    for (let i = 1; i <= 4000; i++) {
      const x = heading === 1 ? i * 0.15 : WIDTH - i * 0.15;
      rows.push({
        x,
        y: (HEIGHT / 50) * (n + 0.5),
        t: rows.length * 0.2 + n * 20,
        rate: 200,
        pass: n,
        on: 1,
        swath: 4.8,
      });
    }
  }
  const log = logOf(rows);
  const started = process.cpuUsage();
  const {comparison} = compareApplied(oblong, threeZones(), log);
  const {user} = process.cpuUsage(started);
  expect(comparison.records.used).toBe(200_000);
  expect(comparison.field.coveredAcres).toBeCloseTo(comparison.field.acres, 1);
  expect(user / 1e6).toBeLessThan(2.5); // a second on an idle core, with room for a busy one
});
