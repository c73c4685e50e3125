import {beforeAll, describe, expect, it} from "vitest";
import {millrace} from "../../sample-data/make/farm.ts";
import {truthAt} from "../../sample-data/make/truth.ts";
import {thinGrid} from "../../src/compare/thin-grid.ts";
import {loadGeos} from "../../src/geo/geos.ts";
import {insideTest} from "../../src/geo/inside.ts";
import {agreement} from "../../src/stats/prediction-error.ts";
import {seededRandom} from "../../src/stats/random.ts";
import {normalQuantile} from "../../src/stats/student-t.ts";
import {SQUARE_METRES_PER_ACRE} from "../../src/units/factors.ts";

// What was found on real fields, looked for on Millrace, whose soil is known everywhere: directions, not numbers.

beforeAll(loadGeos);

const inside = insideTest(millrace.outline);
const step = 10;
/** Phosphorus of the ground on a net of 10 m. */
const spots = Array.from({length: 82}, (_, row) =>
  Array.from({length: 82}, (__, col) => ({x: -405 + col * step, y: -405 + row * step})),
)
  .flat()
  .filter(({x, y}) => inside(x, y))
  .map(({x, y}) => ({x, y, p: truthAt(millrace, x, y).pPpm}));

const classOf = (p: number): string => (p < 20 ? "below" : p < 40 ? "within" : "above");

/** Class of every spot by cells of a side, each from so many cores thrown at random into it, with 8 % of lab noise. */
function byCells(sideM: number, cores: number, seed: number): string[] {
  const random = seededRandom(seed, `cells ${sideM} ${cores}`);
  const cells = new Map<string, typeof spots>();
  for (const spot of spots) {
    const key = `${Math.floor(spot.x / sideM)},${Math.floor(spot.y / sideM)}`;
    cells.set(key, [...(cells.get(key) ?? []), spot]);
  }
  const read = new Map<(typeof spots)[number], string>();
  for (const own of cells.values()) {
    let sum = 0;
    for (let i = 0; i < cores; i++) sum += (own[random.integer(own.length)]?.p ?? 0) * Math.exp(0.15 * random.normal());
    const found = (sum / cores) * Math.exp(0.08 * random.normal());
    for (const spot of own) read.set(spot, classOf(found));
  }
  return spots.map((spot) => read.get(spot) ?? "");
}

const truth = spots.map(({p}) => classOf(p));
const right = (classes: readonly string[]): number => agreement(classes, truth).same;
const mean = spots.reduce((sum, {p}) => sum + p, 0) / spots.length;
const average = (values: readonly number[]): number => values.reduce((a, b) => a + b) / values.length;
const SEEDS = [1, 2, 3, 4, 5, 6];

describe("published comparisons, in direction", () => {
  it("cells of 318 ft beat the field mean, and more with 72 cores than with 5 (Wollenhaupt and others 1994, Wisconsin)", () => {
    const field = right(spots.map(() => classOf(mean)));
    const few = average(SEEDS.map((seed) => right(byCells(97, 5, seed))));
    const many = average(SEEDS.map((seed) => right(byCells(97, 72, seed))));
    expect(few).toBeGreaterThan(field);
    expect(many).toBeGreaterThan(few);
    // There as here a good part of the ground is still wrong.
    expect(many).toBeLessThan(0.95);
  });

  it("220-ft cells describe a field better than 330-ft ones (Franzen and Peck 1995, Illinois; from memory)", () => {
    const close = average(SEEDS.map((seed) => right(byCells(67, 10, seed))));
    const wide = average(SEEDS.map((seed) => right(byCells(100.6, 10, seed))));
    expect(close).toBeGreaterThan(wide);
  });

  it("errors of a map rise with the spacing, sharply from 2 ha on (Mueller and others 2001; Virk and others 2025)", () => {
    const random = seededRandom(3, "points");
    const net = spots.filter(({x, y}) => (x + 405) % 40 === 0 && (y + 405) % 40 === 0);
    const {steps} = thinGrid({
      what: "soil-test P",
      unit: "ppm",
      x: Float64Array.from(net, ({x}) => x),
      y: Float64Array.from(net, ({y}) => y),
      values: Float64Array.from(net, ({p}) => p * Math.exp(0.12 * random.normal())),
      areasM2: [1, 2.5, 5, 10].map((acres) => acres * SQUARE_METRES_PER_ACRE),
      seed: 1,
    });
    const efficiency = steps.map(({mappedEfficiencyPct}) => mappedEfficiencyPct);
    expect(efficiency).toEqual([...efficiency].sort((a, b) => b - a));
    expect((efficiency[0] ?? 0) - (efficiency[3] ?? 0)).toBeGreaterThan(5);
  });

  it("one rate by the mean leaves more than half of a skewed field short (South Dakota simulation: 56.5 %)", () => {
    // On a lognormal field the share of ground under the mean is Φ(σ / 2): 56.5 % at σ = 0.327.
    const sigma = 2 * normalQuantile(0.565);
    expect(sigma).toBeCloseTo(0.327, 3);
    const random = seededRandom(1, "lognormal");
    const field = Array.from({length: 20_000}, () => Math.exp(sigma * random.normal()));
    const middle = average(field);
    const short = field.filter((p) => p < middle).length / field.length;
    expect(Math.abs(short - 0.565)).toBeLessThan(0.015);
    // Millrace is skewed to the right, too.
    expect(spots.filter(({p}) => p < mean).length / spots.length).toBeGreaterThan(0.5);
  });
});
