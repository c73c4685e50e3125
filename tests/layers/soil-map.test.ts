import {describe, expect, it} from "vitest";
import {loadGeos} from "../../src/geo/geos.ts";
import {boxOf} from "../../src/geo/measure.ts";
import type {MultiPolygon} from "../../src/geo/shapes.ts";
import {gridOver} from "../../src/grid/grid.ts";
import {maskOf} from "../../src/grid/rasterize.ts";
import {soilMapLayers} from "../../src/layers/soil-map.ts";
import {makeLog} from "./make-log.ts";

await loadGeos();

// 108 m × 300 m, its middle at the origin of its frame.
const {field} = makeLog();
const grid = gridOver(field.frame, boxOf(field.outline), 5);
const mask = maskOf(grid, field.outline);
const band = (west: number, east: number): MultiPolygon => [
  [
    [
      {x: west, y: -500},
      {x: east, y: -500},
      {x: east, y: 500},
      {x: west, y: 500},
      {x: west, y: -500},
    ],
  ],
];
const polygon = (shape: MultiPolygon, name: unknown, clay?: unknown) => ({shape, properties: {name, clay}});
const options = {classField: "name", numeric: [{field: "clay", label: "Clay", unit: "%"}]};
const count = (values: Float64Array, wanted: number): number => values.filter((v) => v === wanted).length;

describe("a soil map", () => {
  const west = polygon(band(-500, 0), "Silty clay", 41);
  const east = polygon(band(0, 500), "Loam", "18.5");

  it("becomes one layer of units and one of each number", () => {
    const {classes, numeric, issues} = soilMapLayers(field, grid, [west, east], options);
    expect(classes.classes).toEqual(["Loam", "Silty clay"]);
    const cells = mask.reduce((a, b) => a + b, 0);
    expect(count(classes.values, 0) + count(classes.values, 1)).toBe(cells);
    expect(Math.abs(count(classes.values, 0) / cells - 0.5)).toBeLessThan(0.05);
    expect(numeric[0]).toMatchObject({id: "soil-clay", label: "Clay", unit: "%"});
    expect(count(numeric[0]?.values ?? new Float64Array(0), 18.5)).toBe(count(classes.values, 0));
    expect(issues).toEqual([]);
  });

  it("numbers its units the same whatever the order of polygons", () => {
    const forward = soilMapLayers(field, grid, [west, east], options);
    const back = soilMapLayers(field, grid, [east, west], options);
    expect(back.classes.values).toEqual(forward.classes.values);
  });

  it("with a gap says how many acres it leaves, and leaves them empty", () => {
    // From −10 m to 0: 10 m × 300 m is 3,000 m², 0.74 ac.
    const {classes, issues} = soilMapLayers(field, grid, [polygon(band(-500, -10), "Silty clay", 41), east], options);
    expect(issues.map((issue) => issue.code)).toEqual(["soil-map/gap"]);
    expect(issues[0]?.message).toContain("leaves 0.74 ac of Made field uncovered (9.3 %)");
    expect(mask.some((inside, i) => inside && Number.isNaN(classes.values[i] as number))).toBe(true);
  });

  it("with an overlap says how many acres, and takes the later polygon", () => {
    const {classes, issues} = soilMapLayers(field, grid, [polygon(band(-500, 20), "Silty clay", 41), east], options);
    expect(issues.map((issue) => issue.code)).toEqual(["soil-map/overlap"]);
    expect(issues[0]?.message).toContain("overlap by 1.48 ac"); // 20 m × 300 m
    expect(Math.abs(count(classes.values, 0) / count(classes.values, 1) - 1)).toBeLessThan(0.1);
  });

  it("without a number somewhere has none there, and says where", () => {
    for (const nothing of [undefined, "", "n/a", null]) {
      const {numeric, issues} = soilMapLayers(field, grid, [west, polygon(band(0, 500), "Loam", nothing)], options);
      expect(issues.map((issue) => issue.code)).toEqual(["soil-map/missing-value"]);
      expect(issues[0]?.message).toContain('"clay" of the soil map is missing or unreadable on 4.00 ac');
      expect(count(numeric[0]?.values ?? new Float64Array(0), 41)).toBeGreaterThan(0);
    }
  });

  it("that crosses itself is mended", () => {
    const bow: MultiPolygon = [
      [
        [
          {x: -500, y: -500},
          {x: 500, y: 500},
          {x: 500, y: -500},
          {x: -500, y: 500},
          {x: -500, y: -500},
        ],
      ],
    ];
    const {issues} = soilMapLayers(field, grid, [polygon(bow, "Loam", 20)], options);
    expect(issues.map((issue) => issue.code)).toContain("soil-map/mended");
  });

  it("of elsewhere, or without the attribute, is refused", () => {
    expect(() => soilMapLayers(field, grid, [polygon(band(2000, 3000), "Loam", 1)], options)).toThrow("No polygon");
    expect(() => soilMapLayers(field, grid, [west], {classField: "musym"})).toThrow('no attribute "musym"');
  });
});
