import {describe, expect, it} from "vitest";
import {harvest} from "../../sample-data/make/combine.ts";
import {expectedYieldOf} from "../../sample-data/make/crop.ts";
import {type DirtyRecord, dirtied} from "../../sample-data/make/dirt.ts";
import {kilnForty, millrace, type SampleField, type Season} from "../../sample-data/make/farm.ts";
import {makeField} from "../../src/geo/field.ts";
import {multiPolygonToLonLat, toLonLat, toPlane} from "../../src/geo/frame.ts";
import {loadGeos} from "../../src/geo/geos.ts";
import {boxOf} from "../../src/geo/measure.ts";
import {centreX, centreY, gridOver} from "../../src/grid/grid.ts";
import {maskOf} from "../../src/grid/rasterize.ts";
import {cleanYield} from "../../src/layers/clean-yield.ts";
import {gridYield} from "../../src/layers/grid-yield.ts";
import {BUSHEL, KILOGRAMS_PER_POUND, METRES_PER_FOOT, SQUARE_METRES_PER_ACRE} from "../../src/units/factors.ts";

await loadGeos();

/** One of our own invented harvests with everything that goes wrong in one, and the yield that truly stood there. */
function invented(sample: SampleField, season: Season) {
  const {field} = makeField(sample.id, sample.name, multiPolygonToLonLat(sample.frame, sample.outline));
  const records = dirtied(harvest(sample, season), sample, season);
  const at = records.map((r) =>
    r.fixLost ? {x: Number.NaN, y: Number.NaN} : toPlane(field.frame, toLonLat(sample.frame, r)),
  );
  const column = (value: (r: DirtyRecord, i: number) => number): Float64Array => Float64Array.from(records, value);
  const {pounds, moisturePct} = BUSHEL[season.crop];
  const truth = expectedYieldOf(sample, season);
  const tonnes = (pounds * KILOGRAMS_PER_POUND * 10) / SQUARE_METRES_PER_ACRE;
  return {
    field,
    log: {
      ...{
        id: "invented",
        crop: season.crop,
        season: season.year,
        bushelPounds: pounds,
        standardMoisturePct: moisturePct,
      },
      x: column((_, i) => at[i]?.x ?? Number.NaN),
      y: column((_, i) => at[i]?.y ?? Number.NaN),
      timeS: column((r) => r.timeS),
      flowKgPerS: column((r) => r.flowLbPerS * KILOGRAMS_PER_POUND),
      distanceM: column((r) => r.distanceFt * METRES_PER_FOOT),
      intervalS: column((r) => r.intervalS),
      swathM: column((r) => r.swathFt * METRES_PER_FOOT),
      moisturePct: column((r) => r.moisturePct ?? Number.NaN),
      pass: column((r) => r.pass),
      headerDown: column((r) => (r.headerDown ? 1 : 0)),
    },
    /** t/ha at a place in the field's frame. */
    truthAt: (x: number, y: number): number => {
      const p = toPlane(sample.frame, toLonLat(field.frame, {x, y}));
      return truth(p.x, p.y) * tonnes;
    },
  };
}

const cases: [string, SampleField, Season][] = [millrace, kilnForty].flatMap((field) =>
  field.seasons.map((season): [string, SampleField, Season] => [`${field.name} ${season.year}`, field, season]),
);

describe.each(cases)("the log of %s, cleaned", (_, sample, season) => {
  const {field, log, truthAt} = invented(sample, season);
  const cleaned = cleanYield(log, field);
  const kept = [...cleaned.reason.keys()].filter((i) => cleaned.reason[i] === 0);

  it("finds the delay: 12 s of transport and 4 s of mixing lag 15.5 s", () => {
    expect(Math.abs(cleaned.delay.appliedS - 15.52)).toBeLessThan(1);
  });

  it("keeps 70 to 95 % of the records", () => {
    expect(kept.length / log.x.length).toBeGreaterThan(0.7);
    expect(kept.length / log.x.length).toBeLessThan(0.95);
  });

  it("is right on average, and within 4 % at a record", () => {
    let squares = 0;
    let error = 0;
    let mean = 0;
    for (const i of kept) {
      // A record speaks for the ground behind it.
      const back = (cleaned.lengthM[i] as number) / 2;
      const truth = truthAt(
        (log.x[i] as number) - back * (cleaned.east[i] as number),
        (log.y[i] as number) - back * (cleaned.north[i] as number),
      );
      const miss = (cleaned.yieldTPerHa[i] as number) - truth;
      squares += miss * miss;
      error += miss;
      mean += truth;
    }
    expect(Math.abs(error / mean)).toBeLessThan(0.005);
    expect((Math.sqrt(squares / kept.length) * kept.length) / mean).toBeLessThan(0.04);
  });

  it("maps the field it grew on", () => {
    const grid = gridOver(field.frame, boxOf(field.outline), 5);
    const mask = maskOf(grid, field.outline);
    const {values} = gridYield(cleaned, grid, mask).layer;
    const cells = [...values.keys()].filter((i) => mask[i]);
    const known = cells.filter((i) => !Number.isNaN(values[i] as number));
    expect(known.length / cells.length).toBeGreaterThan(0.99);
    const truths = known.map((i) => truthAt(centreX(grid, i % grid.cols), centreY(grid, Math.floor(i / grid.cols))));
    const mean = truths.reduce((a, b) => a + b, 0) / known.length;
    const squares = truths.reduce((sum, truth, n) => sum + ((values[known[n] as number] as number) - truth) ** 2, 0);
    expect(Math.sqrt(squares / known.length) / mean).toBeLessThan(0.04);
  });
});

describe("a drowned hollow", () => {
  it("stays a hollow of zeros", () => {
    const wet = millrace.seasons.find((season) => season.weather === "wet") as Season;
    const {field, log, truthAt} = invented(millrace, wet);
    const cleaned = cleanYield(log, field);
    const kept = [...cleaned.reason.keys()].filter((i) => cleaned.reason[i] === 0);
    const drowned = kept.filter((i) => truthAt(log.x[i] as number, log.y[i] as number) < 0.5);
    expect(drowned.length).toBeGreaterThan(60);
    const low = drowned.filter((i) => (cleaned.yieldTPerHa[i] as number) < 5); // mixing softens its rim
    expect(low.length / drowned.length).toBeGreaterThan(0.9);
  });
});
