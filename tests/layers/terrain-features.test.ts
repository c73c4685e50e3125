import {describe, expect, it} from "vitest";
import {frameAt, frameProjString} from "../../src/geo/frame.ts";
import {centreX, centreY, gridOver} from "../../src/grid/grid.ts";
import type {Raster} from "../../src/grid/raster.ts";
import {TERRAIN, TERRAIN_FEATURES, TERRAIN_NAMES, type TerrainName} from "../../src/layers/terrain/names.ts";
import {terrainLayers} from "../../src/layers/terrain.ts";

const frame = frameAt(-93.6, 42.02);
const crs = {name: "the field's own frame", definition: frameProjString(frame), units: "metres" as const};
const grid = gridOver(frame, {west: -100, south: -100, east: 100, north: 100}, 5);
const mask = new Uint8Array(grid.cols * grid.rows).fill(1);

function heights(z: (x: number, y: number) => number, reachM = 400, cell = 5): Raster {
  const cols = (2 * reachM) / cell;
  const values = Float64Array.from({length: cols * cols}, (_, i) =>
    z(-reachM + ((i % cols) + 0.5) * cell, reachM - (Math.floor(i / cols) + 0.5) * cell),
  );
  const place = {west: -reachM, north: reachM, cellWidth: cell, cellHeight: cell};
  return {name: "dem.tif", crs, ...place, cols, rows: cols, values};
}
const plain = {smoothM: 0};
const at = (values: Float64Array, x: number, y: number): number =>
  values[Math.floor((100 - y) / 5) * grid.cols + Math.floor((x + 100) / 5)] as number;

describe("every layer of terrain", () => {
  const hilly = heights((x, y) => 250 + 0.01 * x + 3 * Math.sin(x / 37) + 2 * Math.cos(y / 23));
  const {layers} = terrainLayers(hilly, grid, mask, TERRAIN_NAMES);

  it.each(TERRAIN_NAMES)("%s covers the field, under its name and unit", (name) => {
    const layer = layers[name];
    expect(layer).toMatchObject({...TERRAIN[name], grid, madeFrom: {step: "layers/terrain", inputs: ["dem.tif"]}});
    expect(layer.values.some(Number.isNaN)).toBe(false);
    expect(new Set(layer.values).size).toBeGreaterThan(name === "water from beyond" || name === "ponding" ? 0 : 100);
  });

  it("is the same alone as among others", () => {
    for (const name of ["wetness", "far position", "mean curvature"] as const) {
      const alone = terrainLayers(hilly, grid, mask, [name]).layers[name].values;
      // Within what positions between the points that are transformed exactly are off.
      alone.forEach((value, i) => {
        expect(value).toBeCloseTo(layers[name].values[i] as number, 5);
      });
    }
  });

  it("is left out where it was not asked for", () => {
    const few = terrainLayers(hilly, grid, mask, ["slope"]);
    expect(Object.keys(few.layers)).toEqual(["slope"]);
    expect(few.ponds).toBeUndefined();
  });

  it("says no more of its making than it depends on", () => {
    const optionsOf = (name: TerrainName): unknown => layers[name].madeFrom.options;
    expect(optionsOf("slope")).toEqual({smoothM: 5, relativeRadiusM: 75, resampling: "bilinear"});
    expect(optionsOf("wetness")).toMatchObject({drainage: "breach", breach: {reachM: 60, depthM: 1}});
    expect(optionsOf("ponding")).toMatchObject({ponds: {leastDepthM: 0.05, leastAreaM2: 100}});
  });

  it("that zones may be made from has no jump and no end", () => {
    expect(TERRAIN_FEATURES).not.toContain("aspect");
    expect(TERRAIN_FEATURES).not.toContain("plan curvature");
    expect(TERRAIN_FEATURES).not.toContain("catchment area");
  });
});

describe("the layers of plain ground", () => {
  it("have one exposure, no curvature and no position", () => {
    const slope = heights((x, y) => 250 + 0.03 * x + 0.04 * y);
    const {layers} = terrainLayers(slope, grid, mask, TERRAIN_NAMES, plain);
    const each = (name: TerrainName, value: number): void => {
      for (const found of layers[name].values) expect(found).toBeCloseTo(value, 5);
    };
    each("aspect", 216.869897646);
    each("northness", -0.04 / Math.hypot(1, 0.05));
    each("eastness", -0.03 / Math.hypot(1, 0.05));
    each("near position", 0);
    each("far position", 0);
    for (const kind of ["profile", "tangential", "mean", "general"] as const) each(`${kind} curvature`, 0);
    each("ponding", 0);
  });
});

describe("a pond", () => {
  // A dish 40 m wide and 0.4 m deep in ground that falls to the south.
  const dish = (x: number, y: number): number => {
    const far = Math.hypot(x, y) / 20;
    return 250 + 0.001 * y - (far < 1 ? 0.4 * (1 - far * far) : 0);
  };

  it("has the area, depth and volume of the water that would stand", () => {
    const {ponds = [], layers, issues} = terrainLayers(heights(dish), grid, mask, ["ponding"], plain);
    expect(ponds).toHaveLength(1);
    const [pond] = ponds;
    let area = 0;
    let volume = 0;
    layers.ponding.values.forEach((depth, i) => {
      const level = pond?.levelM as number;
      const z = dish(centreX(grid, i % grid.cols), centreY(grid, Math.floor(i / grid.cols)));
      if (depth > 0) {
        expect(depth).toBeCloseTo(level - z, 5);
        area += 25;
        volume += 25 * depth;
      }
    });
    expect(pond?.areaM2).toBe(area);
    expect(pond?.insideM2).toBe(area);
    expect(pond?.volumeM3).toBeCloseTo(volume, 6);
    expect(pond?.volumeM3).toBeGreaterThan(150); // a paraboloid dish of that size holds 251 m³ up to its upper rim
    expect(pond?.volumeM3).toBeLessThan(251);
    expect(Math.hypot(pond?.x ?? 99, pond?.y ?? 99)).toBeLessThan(8);
    expect(issues.map(({code}) => code)).toEqual(["terrain/ponds"]);
    expect(issues[0]?.message).toMatch(/^One depression at least 5 cm deep and 100 m² large would hold/);
  });

  it("beside the field is none of its, and across its edge counts with its part inside", () => {
    const beside = heights((x, y) => dish(x - 150, y));
    expect(terrainLayers(beside, grid, mask, ["ponding"], plain).ponds).toEqual([]);
    const across = heights((x, y) => dish(x - 100, y));
    const [pond] = terrainLayers(across, grid, mask, ["ponding"], plain).ponds ?? [];
    expect(pond?.insideM2).toBeGreaterThan(0);
    expect(pond?.insideM2).toBeLessThan(pond?.areaM2 as number);
  });

  it("too shallow or small is told of as none", () => {
    const {ponds, issues} = terrainLayers(heights(dish), grid, mask, ["ponding"], {
      ...plain,
      ponds: {leastDepthM: 0.5, leastAreaM2: 100},
    });
    expect(ponds).toEqual([]);
    expect(issues[0]?.message).toBe(
      "No depression of the field would hold a pond at least 50 cm deep and 100 m² large.",
    );
  });

  it("drains through a cut, or over its rim where cuts are forbidden", () => {
    const through = (drainage: "breach" | "fill"): Float64Array =>
      terrainLayers(heights(dish), grid, mask, ["catchment area"], {...plain, drainage, flow: {method: "d8"}}).layers[
        "catchment area"
      ].values;
    for (const drainage of ["breach", "fill"] as const) {
      const below = Math.max(...[-20, -15, -10, -5, 0, 5, 10, 15, 20].map((x) => at(through(drainage), x, -40)));
      expect(below).toBeGreaterThan(2000); // all that fell into the dish and above it
    }
  });
});

describe("water from beyond", () => {
  it("is remarked on where ground rises to the end of the heights, not where the field is the top", () => {
    const codes = (z: (x: number, y: number) => number): string[] =>
      terrainLayers(heights(z), grid, mask, ["wetness"], plain).issues.map(({code}) => code);
    expect(codes((x) => 250 + 0.02 * x)).toEqual(["terrain/water-from-beyond"]);
    expect(codes((x, y) => 250 - 0.02 * Math.hypot(x, y))).toEqual([]);
  });

  it("is less when more ground is looked at", () => {
    // A ridge 200 m to the north: a margin of 150 m misses it, 250 m does not.
    const ridge = heights((_, y) => 250 - 0.02 * Math.abs(y - 320));
    const share = (marginM: number): number => {
      const {values} = terrainLayers(ridge, grid, mask, ["water from beyond"], {...plain, marginM}).layers[
        "water from beyond"
      ];
      return values.reduce((sum, v) => sum + v, 0) / values.length;
    };
    expect(share(150)).toBe(1);
    expect(share(280)).toBeLessThan(share(150));
  });
});

describe("options that make no sense", () => {
  it("are refused: a near radius beyond the far one", () => {
    expect(() =>
      terrainLayers(
        heights((x) => x),
        grid,
        mask,
        ["near position"],
        {radiiM: {near: 100, far: 50}},
      ),
    ).toThrow("Position from 100 m to 50 m away is on no ground.");
  });
});
