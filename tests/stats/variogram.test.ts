import {describe, expect, it} from "vitest";
import {semivariance, VARIOGRAM_SHAPES} from "../../src/stats/covariance.ts";
import {fitVariogram} from "../../src/stats/fit-variogram.ts";
import {fitAnisotropy} from "../../src/stats/fit-variogram-anisotropy.ts";
import {seededRandom} from "../../src/stats/random.ts";
import {sampleVariogram} from "../../src/stats/variogram.ts";
import {haveMeuse, meuse} from "./meuse.ts";

// Four points on a line, 1 m apart: three pairs at 1 m, two at 2 m, one at 3 m.
const line = {x: Float64Array.of(0, 1, 2, 3), y: new Float64Array(4), values: Float64Array.of(1, 3, 2, 6)};

describe("a sample variogram", () => {
  it("is half the mean squared difference by distance", () => {
    const {classes} = sampleVariogram(line.x, line.y, line.values, {cutoff: 3, width: 1});
    expect(classes).toEqual([
      {pairs: 3, distance: 1, semivariance: (4 + 1 + 16) / 6},
      {pairs: 2, distance: 2, semivariance: (1 + 9) / 4},
      {pairs: 1, distance: 3, semivariance: 25 / 2},
    ]);
  });

  it("counts a pair on a border with the nearer class, and none beyond the cutoff", () => {
    const {classes} = sampleVariogram(line.x, line.y, line.values, {cutoff: 2, width: 2});
    expect(classes.map(({pairs}) => pairs)).toEqual([5]);
  });

  it("robust is Cressie and Hawkins's formula", () => {
    const [first] = sampleVariogram(line.x, line.y, line.values, {cutoff: 1, width: 1, estimator: "robust"}).classes;
    const mean = (Math.sqrt(2) + 1 + 2) / 3;
    expect(first?.semivariance).toBeCloseTo(mean ** 4 / (0.457 + 0.494 / 3) / 2, 12);
  });

  it("leaves out points without value or position", () => {
    const values = Float64Array.of(1, Number.NaN, 2, 6);
    const {known, classes} = sampleVariogram(line.x, line.y, values, {cutoff: 3, width: 1});
    expect(known).toBe(3);
    expect(classes.map(({pairs}) => pairs)).toEqual([1, 1, 1]);
  });

  it("looks along one direction when asked", () => {
    const x = Float64Array.of(0, 0, 5);
    const y = Float64Array.of(0, 5, 0);
    const north = {cutoff: 10, width: 10, direction: {azimuthDeg: 0, toleranceDeg: 22.5}};
    expect(sampleVariogram(x, y, Float64Array.of(1, 3, 9), north).classes).toEqual([
      {pairs: 1, distance: 5, semivariance: 2},
    ]);
  });

  it("of a long log is drawn from a sample, the same for the same seed, and near the whole", () => {
    const random = seededRandom(5, "test");
    const x = Float64Array.from({length: 200_000}, () => random.next() * 800);
    const y = x.map(() => random.next() * 800);
    const values = x.map((px, i) => Math.sin(px / 60) + Math.cos((y[i] as number) / 60) + random.normal());
    const options = {cutoff: 200, width: 20};
    const one = sampleVariogram(x, y, values, {...options, seed: 7});
    expect([one.known, one.compared, one.seed]).toEqual([200_000, 5000, 7]);
    expect(sampleVariogram(x, y, values, {...options, seed: 7})).toEqual(one);
    const other = sampleVariogram(x, y, values, {...options, seed: 8});
    expect(other).not.toEqual(one);
    // Two samples of 5,000 have 12,000 pairs and more in the first class: its error is about √2/√12,000, 1.3 %, and
    // more where values are alike; within 6 % of one another.
    one.classes.forEach(({semivariance: a}, k) => {
      expect(Math.abs((other.classes[k]?.semivariance ?? 0) / a - 1)).toBeLessThan(0.06);
    });
  });
});

describe("a fitted variogram", () => {
  const distances = [20, 60, 100, 140, 180, 220, 260, 300];
  const drawn = (model: Parameters<typeof semivariance>[0]) => ({
    cutoff: 300,
    classes: distances.map((distance) => ({pairs: 500, distance, semivariance: semivariance(model, distance)})),
  });

  it("finds again the model it was drawn from", () => {
    for (const shape of VARIOGRAM_SHAPES) {
      const range = shape === "spherical" ? 180 : 50;
      const found = fitVariogram(drawn({shape, nugget: 2, partialSill: 7, range}));
      expect(found?.model.shape).toBe(shape);
      expect(found?.model.nugget).toBeCloseTo(2, 5);
      expect(found?.model.partialSill).toBeCloseTo(7, 5);
      expect(found?.model.range).toBeCloseTo(range, 4);
      expect(found?.rangeLimit).toBeUndefined();
    }
  });

  it("of noise is all nugget, and of a slope says that its range is not seen", () => {
    const flat = distances.map((distance, k) => ({pairs: 500, distance, semivariance: 4 + (k % 2 ? -0.1 : 0.1)}));
    const noise = fitVariogram({cutoff: 300, classes: flat});
    expect(noise?.nuggetShare).toBeGreaterThan(0.9);
    const falling = distances.map((distance) => ({pairs: 500, distance, semivariance: 10 - distance / 100}));
    expect(fitVariogram({cutoff: 300, classes: falling})).toMatchObject({model: {partialSill: 0}, nuggetShare: 1});
    const slope = distances.map((distance) => ({pairs: 500, distance, semivariance: distance ** 2 / 100}));
    expect(fitVariogram({cutoff: 300, classes: slope})?.rangeLimit).toBe("long");
  });

  it("never has a negative nugget or sill, whatever it is given", () => {
    const random = seededRandom(3, "test");
    for (let round = 0; round < 200; round++) {
      const classes = distances.map((distance) => ({
        pairs: 1 + random.integer(1000),
        distance,
        semivariance: Math.exp(3 * random.normal()),
      }));
      const fit = fitVariogram({cutoff: 300, classes});
      for (const {model, weightedSse} of fit?.tried ?? []) {
        expect(model.nugget).toBeGreaterThanOrEqual(0);
        expect(model.partialSill).toBeGreaterThanOrEqual(0);
        expect(model.range).toBeGreaterThan(0);
        expect(Number.isFinite(model.nugget + model.partialSill + model.range + weightedSse)).toBe(true);
        expect(fit?.weightedSse).toBeLessThanOrEqual(weightedSse);
      }
    }
  });

  it("does not exist for two classes", () => {
    expect(
      fitVariogram({
        cutoff: 10,
        classes: drawn({...{shape: "spherical", range: 9}, nugget: 1, partialSill: 1}).classes.slice(0, 2),
      }),
    ).toBeUndefined();
  });
});

describe("a direction in which values stay alike", () => {
  /** Sixty waves of random direction, drawn out along an azimuth: a smooth field stretched by 1 / ratio. */
  function drawnOut(count: number, azimuthDeg: number, ratio: number, seed: number) {
    const random = seededRandom(seed, "test");
    const waves = Array.from(
      {length: 60},
      () => [random.normal() / 60, random.normal() / 60, 7 * random.next()] as const,
    );
    const [sin, cos] = [Math.sin((azimuthDeg * Math.PI) / 180), Math.cos((azimuthDeg * Math.PI) / 180)];
    const x = Float64Array.from({length: count}, () => random.next() * 1000);
    const y = x.map(() => random.next() * 1000);
    const values = x.map((px, i) => {
      const py = y[i] as number;
      const [along, across] = [sin * px + cos * py, (cos * px - sin * py) / ratio];
      return waves.reduce((sum, [ku, kv, phase]) => sum + Math.cos(ku * along + kv * across + phase), 0);
    });
    return {x, y, values};
  }
  const look = ({x, y, values}: ReturnType<typeof drawnOut>) =>
    fitAnisotropy(x, y, values, "gaussian", {cutoff: 250, width: 25});

  it("is found with how much farther", () => {
    for (const azimuthDeg of [30, 105]) {
      const found = look(drawnOut(1200, azimuthDeg, 0.4, 1));
      const {azimuthDeg: azimuth = Number.NaN, ratio = Number.NaN} = found?.model.anisotropy ?? {};
      // One field of some dozen hills: a sector of 15° and a step of the ratio either way.
      expect(Math.abs(azimuth - azimuthDeg)).toBeLessThanOrEqual(15);
      expect(Math.abs(ratio - 0.4)).toBeLessThanOrEqual(0.1 + 1e-9);
    }
  });

  it("is not looked for in few points", () => {
    expect(look(drawnOut(200, 30, 0.4, 1))).toBeUndefined();
  });

  it("is not found in noise", () => {
    const {x, y} = drawnOut(1200, 30, 1, 1);
    const random = seededRandom(8, "test");
    expect(look({x, y, values: x.map(() => random.normal())})).toBeUndefined();
  });
});

describe.skipIf(!haveMeuse)("the variogram of meuse, log zinc (skipped: no shared data)", () => {
  if (!haveMeuse) return;
  const {x, y, values} = meuse();
  const sample = sampleVariogram(x, y, values);
  const fitOf = (shape: (typeof VARIOGRAM_SHAPES)[number]) => fitVariogram(sample, [shape]);

  it("has the classes of gstat 2.1-0", () => {
    expect(sample.cutoff).toBeCloseTo(1596.622616, 6);
    expect(sample.classes).toHaveLength(15);
    expect(sample.classes[0]?.pairs).toBe(57);
    expect(sample.classes[0]?.distance).toBeCloseTo(79.2924374558, 9);
    expect(sample.classes[0]?.semivariance).toBeCloseTo(0.123447934906, 12);
    expect(sample.classes[8]?.pairs).toBe(589);
    expect(sample.classes[8]?.distance).toBeCloseTo(903.1464983, 9);
    expect(sample.classes[8]?.semivariance).toBeCloseTo(0.647147887486, 12);
    const robust = sampleVariogram(x, y, values, {estimator: "robust"});
    expect(robust.classes[0]?.semivariance).toBeCloseTo(0.0989035403416105, 12);
    const north = sampleVariogram(x, y, values, {direction: {azimuthDeg: 0, toleranceDeg: 22.5}});
    expect(north.classes[1]?.pairs).toBe(76);
    expect(north.classes[1]?.semivariance).toBeCloseTo(0.225946548847937, 12);
  });

  it("is fitted as by gstat 2.1-0 (fit.method 7), which stops a little short", () => {
    // Parameters to 1e-4, the objective to 1e-6: an optimiser that goes on gets 897.0064 where gstat stops at 897.0209.
    const sph = fitOf("spherical");
    expect(sph?.weightedSse).toBeCloseTo(9.0111943e-6, 12);
    expect((sph?.model.nugget ?? 0) / 0.0506624).toBeCloseTo(1, 4);
    expect((sph?.model.partialSill ?? 0) / 0.5906078).toBeCloseTo(1, 4);
    expect((sph?.model.range ?? 0) / 897.0209).toBeCloseTo(1, 4);
    const exp = fitOf("exponential");
    expect(exp?.model.nugget).toBe(0);
    expect((exp?.model.partialSill ?? 0) / 0.7186526).toBeCloseTo(1, 3);
    expect((exp?.model.range ?? 0) / 449.758).toBeCloseTo(1, 3);
    expect((fitOf("matern-1.5")?.model.range ?? 0) / 201.1927).toBeCloseTo(1, 4);
    expect((fitOf("matern-2.5")?.model.range ?? 0) / 145.477).toBeCloseTo(1, 4);
    expect(fitVariogram(sample)?.model.shape).toBe("spherical");
  });

  it("Gaussian comes nearer than where gstat 2.1-0 stops, by the same measure", () => {
    const stopped = {shape: "gaussian", nugget: 0.1167886, partialSill: 0.4974714, range: 386.535} as const;
    let theirs = 0;
    for (const {pairs, distance, semivariance: found} of sample.classes) {
      theirs += (pairs / distance ** 2) * (found - semivariance(stopped, distance)) ** 2;
    }
    expect(theirs).toBeCloseTo(1.915067e-5, 10); // its SSErr
    expect(fitOf("gaussian")?.weightedSse).toBeLessThan(0.93 * theirs);
  });
});
