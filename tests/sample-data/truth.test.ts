import {describe, expect, it} from "vitest";
import {FIELDS, kilnForty, millrace, type SampleField} from "../../sample-data/make/farm.ts";
import {truthAt} from "../../sample-data/make/truth.ts";
import {boxOf, contains} from "../../src/geo/measure.ts";
import type {XY} from "../../src/geo/shapes.ts";
import {seededRandom} from "../../src/stats/random.ts";

const POINTS = 3000;

function pointsIn(field: SampleField, count: number): XY[] {
  const random = seededRandom(1, "test points");
  const box = boxOf(field.outline);
  const points: XY[] = [];
  while (points.length < count) {
    const x = box.west + random.next() * (box.east - box.west);
    const y = box.south + random.next() * (box.north - box.south);
    if (contains(field.outline, x, y)) points.push({x, y});
  }
  return points;
}

const mean = (values: readonly number[]): number => values.reduce((sum, v) => sum + v, 0) / values.length;
/** Deviations from the mean, and their root mean square. */
const deviations = (values: readonly number[]): number[] => {
  const middle = mean(values);
  return values.map((v) => v - middle);
};
const sd = (values: readonly number[]): number => Math.sqrt(mean(deviations(values).map((d) => d * d)));
const correlation = (a: readonly number[], b: readonly number[]): number => {
  const other = deviations(b);
  return mean(deviations(a).map((d, i) => d * (other[i] as number))) / sd(a) / sd(b);
};
const share = (values: readonly number[], test: (v: number) => boolean): number =>
  values.filter(test).length / values.length;

// Corn Belt fields: P 40 to 100 % and right-skewed, K 25 to 45 %, OM 15 to 35 %, pH 4 to 10 % between points
// (common practice; the bands for P and K are those the samples were asked to have). 3000 points: a CV is known to
// about 2 points.
describe.each(FIELDS.map((field) => [field.name, field] as const))("the soil of %s", (_, field) => {
  const points = pointsIn(field, POINTS);
  const soils = points.map(({x, y}) => truthAt(field, x, y));
  const of = (what: keyof (typeof soils)[number]): number[] => soils.map((soil) => soil[what]);

  it("varies as soil tests do", () => {
    const cv = (values: number[]): number => (100 * sd(values)) / mean(values);
    expect(cv(of("pPpm"))).toBeGreaterThan(40);
    expect(cv(of("pPpm"))).toBeLessThan(70);
    expect(cv(of("kPpm"))).toBeGreaterThan(25);
    expect(cv(of("kPpm"))).toBeLessThan(45);
    expect(cv(of("omPct"))).toBeGreaterThan(15);
    expect(cv(of("omPct"))).toBeLessThan(40);
    expect(cv(of("ph"))).toBeGreaterThan(3);
    expect(cv(of("ph"))).toBeLessThan(10);
  });

  it("has phosphorus skewed to the right, low, middling and high in one field", () => {
    const p = of("pPpm");
    const skew = mean(deviations(p).map((d) => d ** 3)) / sd(p) ** 3;
    expect(skew).toBeGreaterThan(1);
    expect(share(p, (v) => v < 20)).toBeGreaterThan(0.2);
    expect(share(p, (v) => v >= 20 && v < 40)).toBeGreaterThan(0.3);
    expect(share(p, (v) => v >= 40)).toBeGreaterThan(0.1);
    expect(mean(p)).toBeGreaterThan(20);
    expect(mean(p)).toBeLessThan(40);
  });

  it("is alike nearby and unlike across the field", () => {
    // Semivariance of log P over the variance; 1500 pairs know it to about 5 points.
    const random = seededRandom(2, "pairs");
    const logP = ({x, y}: XY): number => Math.log(truthAt(field, x, y).pPpm);
    const variance = sd(points.map(logP)) ** 2;
    const at = (distance: number): number => {
      const squares: number[] = [];
      for (let i = 0; squares.length < 1500; i = (i + 1) % points.length) {
        const from = points[i] as XY;
        const angle = 2 * Math.PI * random.next();
        const to = {x: from.x + distance * Math.cos(angle), y: from.y + distance * Math.sin(angle)};
        if (contains(field.outline, to.x, to.y)) squares.push((logP(from) - logP(to)) ** 2);
      }
      return mean(squares) / 2 / variance;
    };
    expect(at(5)).toBeGreaterThan(0.08); // cores a few steps apart differ
    expect(at(20)).toBeLessThan(0.35);
    expect(at(60)).toBeLessThan(0.75);
    expect(at(200)).toBeGreaterThan(0.65);
  });

  it("ties potassium to cation exchange, and buffer pH to acidity", () => {
    expect(correlation(of("kPpm"), of("cecMeq"))).toBeGreaterThan(0.3);
    for (const {ph, bufferPh} of soils) {
      expect(bufferPh).toBeLessThanOrEqual(7);
      expect(bufferPh).toBeGreaterThan(5.8);
      if (ph >= 6.9) expect(bufferPh).toBe(7);
    }
  });
});

describe("what people did to the ground", () => {
  it("left a feedlot far above the field", () => {
    const lot = truthAt(millrace, 262, -246).pPpm;
    expect(lot).toBeGreaterThan(60);
    expect(truthAt(kilnForty, 92, 92).pPpm).toBeGreaterThan(45);
  });

  it("left a step at the old fence line", () => {
    // 40 m either side, averaged along 500 m of fence: noise of a range of 200 m averages to about 0.15.
    const along = Array.from({length: 50}, (_, i) => -100 + i * 10);
    const west = mean(along.map((y) => Math.log(truthAt(millrace, 12 - 25, y).pPpm)));
    const east = mean(along.map((y) => Math.log(truthAt(millrace, 12 + 25, y).pPpm)));
    expect(east - west).toBeGreaterThan(0.2);
  });
});
