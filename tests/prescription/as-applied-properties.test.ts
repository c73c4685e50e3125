import {beforeAll, expect, it} from "vitest";
import {intersection, loadGeos} from "../../src/geo/geos.ts";
import {areaM2, boxOf} from "../../src/geo/measure.ts";
import {maskOf} from "../../src/grid/rasterize.ts";
import type {AppliedLog, RatePlan} from "../../src/prescription/as-applied/applied-log.ts";
import {compareApplied} from "../../src/prescription/as-applied/compare-applied.ts";
import {type Random, seededRandom} from "../../src/stats/random.ts";
import {SQUARE_METRES_PER_ACRE} from "../../src/units/factors.ts";
import {squareMetres} from "../../src/units/quantity.ts";
import {randomOutline} from "../properties/random-outline.ts";
import {fieldFrom} from "../zones/fields.ts";
import {ringOf} from "./fields.ts";

beforeAll(loadGeos);

const FIELDS = 200;

/** Passes over the field's box and beyond it, some missing or twice, with bends, stops, zeros and lost positions. */
function randomLog(random: Random, {west, south, east, north}: ReturnType<typeof boxOf>): AppliedLog {
  const swath = 8 + 20 * random.next();
  const step = 1 + 5 * random.next();
  const bend = 0.3 * swath * random.next();
  const [x, y, t, rate, width]: number[][] = [[], [], [], [], []] as number[][];
  let time = 0;
  for (let side = south - swath; side < north + swath; side += swath) {
    const times = random.next() < 0.1 ? 0 : random.next() < 0.1 ? 2 : 1;
    for (let n = 0; n < times; n++) {
      for (let along = west - 20; along < east + 20; along += step) {
        const lost = random.next() < 0.01;
        x?.push(lost ? Number.NaN : along + 0.02 * random.next());
        y?.push(side + swath / 2 + bend * Math.sin(along / 60));
        time += random.next() < 0.01 ? 30 : 1;
        t?.push(time);
        rate?.push(random.next() < 0.03 ? 0 : 50 + 300 * random.next());
        width?.push(random.next() < 0.01 ? 0 : swath);
      }
      time += 40;
    }
  }
  const column = (values: number[] | undefined): Float64Array => Float64Array.from(values ?? []);
  return {id: "log", x: column(x), y: column(y), timeS: column(t), rateLbPerAcre: column(rate), swathM: column(width)};
}

it(`${FIELDS} fields no one would want to farm: every pound and acre is somewhere, once`, () => {
  let compared = 0;
  for (let seed = 1; seed <= FIELDS; seed++) {
    const random = seededRandom(seed, "as-applied");
    const {field} = fieldFrom(randomOutline(random));
    const box = boxOf(field.outline);
    // The west is planned in one unit, the middle in another, the east is in none.
    const cut = (share: number): number => box.west + share * (box.east - box.west);
    const band = (from: number, to: number) => intersection(field.outline, [[ringOf(cut(from), -1e4, cut(to), 1e4)]]);
    const shapes = [band(0, 0.4), band(0.4, 0.8)].filter((shape) => areaM2(shape) > 50);
    const plan: RatePlan = {
      units: shapes.map((shape, i) => ({
        id: `U${i}`,
        shape,
        area: squareMetres(areaM2(shape)),
        rateLbPerAcre: 200 * i,
      })),
      elsewhereLbPerAcre: 80,
    };
    const log = randomLog(random, box);
    const {comparison, map} = compareApplied(field, plan, log, {cellM: 1});
    const {units, elsewhere, field: whole, outside, total, records, loggedLb} = comparison;
    const rows = [...units, ...(elsewhere ? [elsewhere] : [])];
    const sum = (pick: (row: (typeof rows)[number]) => number): number => rows.reduce((a, row) => a + pick(row), 0);
    expect(total.appliedLb).toBeCloseTo(sum((row) => row.appliedLb) + outside.appliedLb, 6);
    expect(total.plannedLb).toBeCloseTo(
      sum((row) => row.plannedLb),
      6,
    );
    expect(whole.acres * SQUARE_METRES_PER_ACRE).toBeCloseTo(areaM2(field.outline), 0);
    for (const row of rows) {
      const bare = row.acres - row.coveredAcres;
      expect(row.plannedLb > 0 ? row.gapAcres : 0).toBeCloseTo(row.plannedLb > 0 ? bare : 0, 6);
      for (const part of [row.gapAcres, row.overlapAcres, row.underAcres, row.overAcres]) {
        expect(part).toBeGreaterThanOrEqual(0);
        expect(part).toBeLessThanOrEqual(row.acres + 1e-9);
      }
      expect(row.offAcres).toBeLessThanOrEqual(row.acres + 1e-9);
    }
    const counted = Object.values(records.byReason).reduce((a, b) => a + b, records.used);
    expect(counted).toBe(log.x.length);
    // The machine's own account and the painted ground are two ways of adding up the same log.
    expect(Math.abs((loggedLb as number) / total.appliedLb - 1)).toBeLessThan(0.02);
    // The map is the field's difference once more, cell by cell.
    const inside = maskOf(map.grid, field.outline);
    let mapped = 0;
    map.values.forEach((value, at) => {
      if (inside[at]) mapped += value;
    });
    expect(Math.abs(mapped / SQUARE_METRES_PER_ACRE - whole.differenceLb)).toBeLessThan(
      0.02 * (whole.plannedLb + whole.appliedLb),
    );
    compared++;
  }
  expect(compared).toBe(FIELDS);
}, 60_000);
