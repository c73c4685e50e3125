import {existsSync, readFileSync} from "node:fs";
import {describe, expect, it} from "vitest";
import {readGeoTiff} from "../../src/formats/read-geotiff.ts";
import {aspectDegrees} from "../../src/grid/aspect.ts";
import {breachDepressions} from "../../src/grid/breach.ts";
import {fillDepressions} from "../../src/grid/fill.ts";
import {flowAccumulation} from "../../src/grid/flow-accumulation.ts";
import {positionAbove} from "../../src/grid/position.ts";
import type {Raster} from "../../src/grid/raster.ts";
import {slopeDegrees} from "../../src/grid/slope.ts";
import {wetnessIndex} from "../../src/grid/wetness.ts";

// A real field of 37 ha on a 10 m grid, its boundary the edge of the heights. References: GDAL 3.6.2, GRASS 8.2.1.

const grids = new URL("../../../shared/data/cook_farm/grids/", import.meta.url);

describe.skipIf(!existsSync(grids))("terrain of a real farm (skipped: no shared data)", () => {
  const read = async (name: string): Promise<Raster> =>
    (await readGeoTiff(new Uint8Array(readFileSync(new URL(`${name}.tif`, grids))), name)).value;
  const furthest = async (ours: Float64Array, name: string): Promise<[number, number]> => {
    let most = 0;
    let cells = 0;
    (await read(`reference/${name}`)).values.forEach((value, i) => {
      if (Number.isNaN(value)) return;
      most = Math.max(most, Math.abs((ours[i] as number) - value));
      cells++;
    });
    return [cells, most];
  };

  it("has gdaldem's slopes, aspects and positions", async () => {
    const {values, cols} = await read("dem_10m");
    const results = [
      await furthest(slopeDegrees(values, cols, 10), "slope_deg_horn"),
      await furthest(slopeDegrees(values, cols, 10, "zevenbergen-thorne"), "slope_deg_zt"),
      await furthest(positionAbove(values, cols, 10, 15), "tpi"),
    ];
    for (const [cells, most] of results) {
      expect(cells).toBe(3554);
      expect(most).toBeLessThan(1e-3); // Float32 of 800 m: 6e-5 m a height
    }
    // On gentler ground that turns an aspect further.
    const steep = slopeDegrees(values, cols, 10).map((degrees) => (degrees > 2 ? 1 : Number.NaN));
    const aspect = aspectDegrees(values, cols);
    const theirs = (await read("reference/aspect_horn")).values;
    const turned = [...aspect].flatMap((degrees, i) => {
      const apart = Math.abs(degrees - (theirs[i] as number));
      return Number.isNaN(apart * (steep[i] as number)) ? [] : [Math.min(apart, 360 - apart)];
    });
    expect(turned.length).toBeGreaterThan(3000);
    expect(Math.max(...turned)).toBeLessThan(0.01);
  });

  it("has slopes up to the edge of the heights, where gdaldem has none", async () => {
    const {values, cols} = await read("dem_10m");
    const slope = slopeDegrees(values, cols, 10);
    const known = values.filter((z) => !Number.isNaN(z)).length;
    expect(known).toBe(3865);
    expect(slope.filter((v) => !Number.isNaN(v)).length).toBeGreaterThan(known - 5);
  });

  it("drains much as in r.watershed and the published wetness grid, made by other rules", async () => {
    const {values, cols} = await read("dem_10m");
    const open = breachDepressions(values, cols, {reachCells: 6, depth: 1}).heights;
    const {cells, held} = flowAccumulation(fillDepressions(open, cols), cols);
    expect(held).toBe(0);
    const wetness = wetnessIndex(cells, slopeDegrees(values, cols, 10), 10);
    const theirs = await read("reference/grass_acc");
    // r.watershed shares flow by the fifth power of slope and finds its way by least cost.
    expect(
      correlation(
        cells.map(Math.log),
        theirs.values.map((v) => Math.log(Math.abs(v))),
      ),
    ).toBeGreaterThan(0.9);
    expect(correlation(wetness, (await read("reference/grass_tci")).values)).toBeGreaterThan(0.9);
    // Gasch et al. (2015) published the grid; how it was smoothed is not known.
    expect(correlation(wetness, (await read("twi_10m")).values)).toBeGreaterThan(0.75);
  });
});

function correlation(a: Float64Array, b: Float64Array): number {
  const pairs = [...a].flatMap((x, i) => (Number.isFinite(x + (b[i] as number)) ? [[x, b[i] as number] as const] : []));
  const mean = (side: 0 | 1): number => pairs.reduce((sum, pair) => sum + pair[side], 0) / pairs.length;
  const [ma, mb] = [mean(0), mean(1)];
  const spread = (f: (pair: readonly [number, number]) => number): number =>
    pairs.reduce((sum, pair) => sum + f(pair), 0);
  return (
    spread(([x, y]) => (x - ma) * (y - mb)) /
    Math.sqrt(spread(([x]) => (x - ma) ** 2) * spread(([, y]) => (y - mb) ** 2))
  );
}
