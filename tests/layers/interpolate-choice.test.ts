import {describe, expect, it} from "vitest";
import {frameAt} from "../../src/geo/frame.ts";
import {centreX, centreY, gridOver} from "../../src/grid/grid.ts";
import {interpolatePoints} from "../../src/layers/interpolate/interpolate-points.ts";
import {seededRandom} from "../../src/stats/random.ts";

// Invented fields of 160 acres whose every spot is known: patterns of three sizes, three levels of noise, 36 to 100 samples.

const grid = gridOver(frameAt(-86.4, 40.55), {west: 0, south: 0, east: 800, north: 800}, 20);
const mask = new Uint8Array(grid.cols * grid.rows).fill(1);
const METHODS = ["auto", "kriging", "inverse distance", "nearest", "mean"] as const;

/** Root mean square error of each method's map against the truth. */
function errorsOn(seed: number): number[] {
  const random = seededRandom(seed, "tests/choice");
  const perSide = [6, 8, 10][seed % 3] as number;
  const size = [60, 120, 240][Math.floor(seed / 3) % 3] as number;
  const noise = [1.5, 4, 10][Math.floor(seed / 9) % 3] as number;
  const waves = Array.from(
    {length: 80},
    () => [random.normal() / size, random.normal() / size, 7 * random.next()] as const,
  );
  const truth = (x: number, y: number): number =>
    30 + 5 * Math.sqrt(2 / 80) * waves.reduce((sum, [u, v, phase]) => sum + Math.cos(u * x + v * y + phase), 0);
  const step = 800 / perSide;
  const along = (at: (i: number) => number) =>
    Float64Array.from({length: perSide ** 2}, (_, i) => (at(i) + 0.2 + 0.6 * random.next()) * step);
  const x = along((i) => i % perSide);
  const y = along((i) => Math.floor(i / perSide));
  const values = x.map((px, i) => truth(px, y[i] as number) + noise * random.normal());
  return METHODS.map((method) => {
    const points = {id: "p", label: "Soil-test P", unit: "mg/kg", x, y, values};
    const {layer} = interpolatePoints(points, grid, mask, {method, withinM: 2000});
    let squares = 0;
    layer.values.forEach((value, i) => {
      squares += (value - truth(centreX(grid, i % grid.cols), centreY(grid, Math.floor(i / grid.cols)))) ** 2;
    });
    return Math.sqrt(squares / mask.length);
  });
}

describe("asking the points for their method", () => {
  it("maps fields better than any one method does, and not much worse than the best in hindsight", () => {
    const errors = Array.from({length: 27}, (_, seed) => errorsOn(seed));
    const mean = (of: (row: number[]) => number): number =>
      errors.reduce((sum, row) => sum + of(row), 0) / errors.length;
    const [auto = Number.NaN, ...fixed] = METHODS.map((_, m) => mean((row) => row[m] as number));
    const hindsight = mean((row) => Math.min(...row.slice(1)));
    for (const one of fixed) expect(auto).toBeLessThan(one);
    // 15 % worse here, 11 % over 135 fields: which method tells the left-out samples best is partly luck.
    expect(auto).toBeLessThan(1.2 * hindsight);
  });
});
