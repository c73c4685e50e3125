import {existsSync, readFileSync} from "node:fs";
import {describe, expect, it} from "vitest";
import {makeField} from "../../src/geo/field.ts";
import {columnsToPlane, frameAt, toLonLat} from "../../src/geo/frame.ts";
import {loadGeos} from "../../src/geo/geos.ts";
import {boxOf} from "../../src/geo/measure.ts";
import type {LonLat} from "../../src/geo/shapes.ts";
import {gridOver} from "../../src/grid/grid.ts";
import {maskOf} from "../../src/grid/rasterize.ts";
import {cleanYield} from "../../src/layers/clean-yield.ts";
import {gridPoints} from "../../src/layers/grid-points.ts";
import {averageSeasons, percentOfGroupMean} from "../../src/layers/seasons.ts";
import type {YieldLog} from "../../src/layers/yield-log.ts";

const shared = new URL("../../../shared/data/", import.meta.url);
const here = existsSync(shared);
if (here) await loadGeos();

/** Columns of a CSV by name, times a factor to SI. */
function table(path: string) {
  const [head = "", ...lines] = readFileSync(new URL(path, shared), "utf8").trim().split(/\r?\n/);
  const names = head.split(",");
  const rows = lines.map((line) => line.split(","));
  const text = (name: string): string[] => rows.map((row) => row[names.indexOf(name)] as string);
  const column = (name: string, factor = 1): Float64Array =>
    Float64Array.from(text(name), (cell) => (cell === "" ? Number.NaN : Number(cell) * factor));
  return {text, column};
}
const POUND = 0.45359237;
const BUSHEL_PER_ACRE = (60 * POUND * 10) / 4046.8564224; // wheat, t/ha

describe.skipIf(!here)("a synthetic log of known truth (skipped: no shared data)", () => {
  if (!here) return;
  const {column} = table("reference/yield/synthetic_log.csv");
  const corner = frameAt(-86.4, 40.55);
  const ring = (
    [
      [0, 0],
      [400, 0],
      [400, 400],
      [0, 400],
      [0, 0],
    ] as const
  ).map(([x, y]) => toLonLat(corner, {x, y}));
  const {field} = makeField("synthetic", "Synthetic", [[ring as LonLat[]]]);
  const y = column("y");
  const places = Array.from(column("x"), (x, i) => toLonLat(corner, {x, y: y[i] as number}));
  const log: YieldLog = {
    ...{id: "synthetic", crop: "corn", season: 2020, bushelPounds: 56, standardMoisturePct: 15.5},
    ...columnsToPlane(
      field.frame,
      Float64Array.from(places, ([lon]) => lon),
      Float64Array.from(places, ([, lat]) => lat),
    ),
    timeS: column("time_s"),
    flowKgPerS: column("flow_kgps"),
    distanceM: column("distance_m"),
    swathM: column("swath_m"),
    moisturePct: column("moisture_pct"),
    headerDown: column("header_down"),
  };
  const truth = column("true_yield_tpha_15.5");
  const against = (options: Parameters<typeof cleanYield>[2]) => {
    const cleaned = cleanYield(log, field, options);
    const kept = [...cleaned.reason.keys()].filter((i) => cleaned.reason[i] === 0);
    const misses = kept.map((i) => (cleaned.yieldTPerHa[i] as number) - (truth[i] as number));
    const mean = kept.reduce((sum, i) => sum + (truth[i] as number), 0) / kept.length;
    return {
      cleaned,
      rmse: Math.sqrt(misses.reduce((sum, d) => sum + d * d, 0) / kept.length),
      bias: misses.reduce((sum, d) => sum + d, 0) / kept.length / mean,
      worst: Math.max(...misses.map(Math.abs)),
    };
  };

  it("has its lag of 15.5 s found within a second, by a curve of the known shape", () => {
    const {estimate, appliedS} = against({}).cleaned.delay;
    expect(Math.abs(appliedS - 15.52)).toBeLessThan(1);
    const at = (s: number): number => estimate?.curve.find((c) => c.delayS === s)?.difference ?? Number.NaN;
    expect(at(0)).toBeGreaterThan(at(12));
    expect(at(12)).toBeGreaterThan(at(15));
    expect(at(15)).toBeLessThan(at(20));
  });

  it("is cleaned to 0.55 t/ha, a bias under 1 %, and a fifth of its records", () => {
    const {rmse, bias, cleaned} = against({});
    expect(rmse).toBeLessThan(0.55); // an independent chain in NumPy reached 0.530 without the true swath
    expect(Math.abs(bias)).toBeLessThan(0.01);
    const removed = 1 - cleaned.counts.kept / log.x.length;
    expect(removed).toBeGreaterThan(0.15);
    expect(removed).toBeLessThan(0.3);
  });

  it("keeps none of its injected errors that show", () => {
    const injected = column("injected_error");
    const {cleaned} = against({});
    const survivors = [...cleaned.reason.keys()].filter((i) => {
      const miss = Math.abs((cleaned.yieldTPerHa[i] as number) - (truth[i] as number));
      return (injected[i] as number) > 0 && cleaned.reason[i] === 0 && miss > 0.2 * (truth[i] as number);
    });
    expect(injected.filter((flag) => flag > 0).length).toBeGreaterThan(100);
    expect(survivors).toEqual([]);
  });

  it("has its narrow last pass corrected by a boundary drawn to the metre", () => {
    const {rmse, bias, worst} = against({clipSwathToBoundary: true});
    expect(rmse).toBeLessThan(0.38); // 0.363 with the true swath given, same independent chain
    expect(Math.abs(bias)).toBeLessThan(0.005);
    expect(worst).toBeLessThan(4); // no injected error is left: those are 10 t/ha and more
  });
});

describe.skipIf(!here)("a real corn log, flow in pounds and distance in inches (skipped: no shared data)", () => {
  if (!here) return;
  const {column} = table("minnesota_corn/yield_log_2011.csv");
  const lon = column("lon");
  const lat = column("lat");
  const [w, e] = [Math.min(...lon) - 5e-5, Math.max(...lon) + 5e-5];
  const [s, n] = [Math.min(...lat) - 5e-5, Math.max(...lat) + 5e-5];
  const {field} = makeField("corn", "Corn", [
    [
      [
        [w, s],
        [e, s],
        [e, n],
        [w, n],
        [w, s],
      ],
    ],
  ]);
  const log: YieldLog = {
    ...{id: "corn-2011", crop: "corn", season: 2011, bushelPounds: 56, standardMoisturePct: 15.5},
    ...columnsToPlane(field.frame, lon, lat),
    timeS: column("gps_time_s"),
    intervalS: column("interval_s"),
    flowKgPerS: column("flow_lb_s", POUND),
    distanceM: column("distance_in", 0.0254),
    moisturePct: column("moisture_pct"),
  };
  const cleaned = cleanYield(log, field, {swathM: 360 * 0.0254});

  it("loses a tenth of its records and half of its spread", () => {
    const removed = 1 - cleaned.counts.kept / log.x.length;
    expect(removed).toBeGreaterThan(0.05);
    expect(removed).toBeLessThan(0.2);
    expect(cleaned.after.cvPct).toBeLessThan(0.65 * cleaned.before.cvPct);
    expect(cleaned.after.moranI).toBeGreaterThan(cleaned.before.moranI + 0.15);
    expect(cleaned.after.mean / 0.06276766469).toBeGreaterThan(120); // bu/ac
    expect(cleaned.after.mean / 0.06276766469).toBeLessThan(160);
  });

  it("was shifted at export: no ten-second delay is left", () => {
    expect(Math.abs(cleaned.delay.appliedS)).toBeLessThan(5);
  });
});

describe.skipIf(!here)("two real wheat logs of one field (skipped: no shared data)", () => {
  if (!here) return;
  const boundary = JSON.parse(readFileSync(new URL("montana_wheat/boundary.geojson", shared), "utf8"));
  const {field} = makeField("wheat", "Wheat", [boundary.features[0].geometry.coordinates]);
  const wheat = {crop: "wheat", bushelPounds: 60, standardMoisturePct: 13.5};

  it("with mass per record, no clock, and widths of zero in turns", () => {
    const {column} = table("montana_wheat/yield_2016.csv");
    const log: YieldLog = {
      ...{...wheat, id: "wheat-2016", season: 2016},
      ...columnsToPlane(field.frame, column("lon"), column("lat")),
      massKg: column("mass_lb", POUND),
      distanceM: column("distance_in", 0.0254),
      swathM: column("swath_in", 0.0254),
      moisturePct: column("moisture_pct"),
      givenYieldTPerHa: column("yield_bu_ac", BUSHEL_PER_ACRE),
    };
    const cleaned = cleanYield(log, field);
    const removed = 1 - cleaned.counts.kept / log.x.length;
    expect(removed).toBeGreaterThan(0.1);
    expect(removed).toBeLessThan(0.3);
    expect(cleaned.delay.appliedS).toBe(0); // mass had been moved back before
    expect(cleaned.counts.duplicate).toBeGreaterThan(100);
    expect(cleaned.counts.turn).toBeGreaterThan(100);
    expect(cleaned.after.max).toBeLessThan(7);
  });

  it("with rows taken out, and wet and dry yield mixed up", () => {
    const {column, text} = table("montana_wheat/yield_2018.csv");
    const log: YieldLog = {
      ...{...wheat, id: "wheat-2018", season: 2018},
      ...columnsToPlane(field.frame, column("lon"), column("lat")),
      flowKgPerS: column("flow_lb_s", POUND),
      distanceM: column("distance_ft", 0.3048),
      intervalS: column("interval_s"),
      swathM: column("swath_ft", 0.3048),
      moisturePct: column("moisture_pct"),
      givenYieldTPerHa: column("yield_dry_bu_ac", BUSHEL_PER_ACRE),
      headerDown: Float64Array.from(text("header"), (state) => (state === "In" ? 1 : 0)),
      pass: column("pass"),
    };
    const cleaned = cleanYield(log, field);
    expect(cleaned.counts.kept / log.x.length).toBeGreaterThan(0.75);
    // Last strips of lands, cut with half a header: both passes are set aside, and the stripes along them are gone.
    expect(cleaned.counts["partial-swath"]).toBeGreaterThan(3000);
    expect(cleaned.after.moranI).toBeGreaterThan(0.85);
    const found = Object.fromEntries(cleaned.issues.map((issue) => [issue.code, issue.message]));
    expect(found["yield/rows-missing"]).toBeDefined();
    // Its "dry" yield equals its wet yield for grain drier than 13.5 %.
    expect(found["yield/given-differs"]).toContain("yield at the moisture it was cut");
  });
});

describe.skipIf(!here)("hand samples of many crops on one farm (skipped: no shared data)", () => {
  if (!here) return;
  const {column, text} = table("cook_farm/yield_points_1999_2016.csv");
  const boundary = JSON.parse(readFileSync(new URL("cook_farm/boundary.geojson", shared), "utf8"));
  const shape = (boundary.features?.[0] ?? boundary).geometry;
  const {field} = makeField("farm", "Farm", shape.type === "Polygon" ? [shape.coordinates] : shape.coordinates);
  const grid = gridOver(field.frame, boxOf(field.outline), 10);
  const mask = maskOf(grid, field.outline);
  const years = text("HarvestYear");
  const crops = text("Crop");
  const {x, y} = columnsToPlane(field.frame, column("Longitude"), column("Latitude"));
  const yields = column("GrainYieldDryPerArea", 0.01); // g/m² to t/ha

  it("become comparable once each crop is set against its own mean", () => {
    const layers = ["2000", "2002", "2003", "2004", "2005", "2006"].map((year) => {
      const values = yields.map((t, i) => (years[i] === year ? t : Number.NaN));
      const percent = percentOfGroupMean(values, crops);
      return gridPoints(x, y, percent, grid, mask, {id: `yield-${year}`, label: `Yield ${year}`, unit: "% of mean"})
        .layer;
    });
    const {mean, spread, meanCorrelation} = averageSeasons(layers);
    const inside = [...mean.values].filter((_, i) => mask[i]);
    const known = inside.filter((v) => !Number.isNaN(v));
    expect(known.length / inside.length).toBeGreaterThan(0.95);
    const average = known.reduce((a, b) => a + b, 0) / known.length;
    expect(Math.abs(average - 100)).toBeLessThan(6); // points are not spread evenly
    expect(meanCorrelation).toBeGreaterThan(-0.2);
    expect(meanCorrelation).toBeLessThan(0.8);
    expect(spread.values.some((v) => v > 5)).toBe(true);
  });
});
