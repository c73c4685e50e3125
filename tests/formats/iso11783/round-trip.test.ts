import fc from "fast-check";
import {describe, expect, it} from "vitest";
import {checkTaskData} from "../../../src/formats/iso11783/check-task-data.ts";
import {readTaskData} from "../../../src/formats/iso11783/read-task-data.ts";
import type {TaskPlan, TaskProduct, TaskZone} from "../../../src/formats/iso11783/task-data.ts";
import {writeTaskData} from "../../../src/formats/iso11783/write-task-data.ts";
import type {LonLat, LonLatPolygon} from "../../../src/geo/shapes.ts";
import {box, options} from "./plans.ts";

// Five hundred prescriptions drawn at random, the same ones every time.
const RUNS = {numRuns: 500};

const products: fc.Arbitrary<TaskProduct> = fc.oneof(
  fc.record({
    name: fc.string({minLength: 1}),
    kind: fc.constant("mass" as const),
    unit: fc.constantFrom("lb/ac", "kg/ha", "ton/ac", "t/ha"),
  }),
  fc.record({
    name: fc.string({unit: "grapheme"}),
    kind: fc.constant("volume" as const),
    unit: fc.constantFrom("gal/ac", "L/ha"),
  }),
  fc.record({name: fc.string(), kind: fc.constant("count" as const), unit: fc.constantFrom("seeds/ac", "seeds/m2")}),
);
/** Half a unit of what a file can hold, and a hair for the binary fraction. */
const TOLERANCE = {mass: 0.005 + 1e-9, volume: 0.00005 + 1e-9, count: 0.0005 + 1e-9};
const rate = fc.double({min: 0, max: 20_000, noNaN: true});
const degree = fc.double({min: -0.01, max: 0.01, noNaN: true});

/** A star of corners around a centre, counter-clockwise, with a square hole in some. */
const polygon: fc.Arbitrary<LonLatPolygon> = fc
  .record({
    lon: fc.double({min: -179, max: 179, noNaN: true}),
    lat: fc.double({min: -80, max: 80, noNaN: true}),
    radii: fc.array(fc.double({min: 0.001, max: 0.01, noNaN: true}), {minLength: 3, maxLength: 40}),
    hole: fc.boolean(),
  })
  .map(({lon, lat, radii, hole}) => {
    const ring = radii.map((radius, i): LonLat => {
      const angle = (2 * Math.PI * i) / radii.length;
      return [lon + radius * Math.cos(angle), lat + radius * Math.sin(angle)];
    });
    const outer = [...ring, ring[0] as LonLat];
    const inner = box(lon - 1e-4, lat - 1e-4, lon + 1e-4, lat + 1e-4)[0]?.toReversed() ?? [];
    return hole && radii.length > 3 ? [outer, inner] : [outer];
  });

const zonePlan: fc.Arbitrary<TaskPlan> = fc.array(products, {minLength: 1, maxLength: 3}).chain((several) => {
  const rates = fc.array(rate, {minLength: several.length, maxLength: several.length});
  const zone: fc.Arbitrary<TaskZone> = fc.record({
    name: fc.string({unit: "binary", maxLength: 50}),
    shape: fc.array(polygon, {minLength: 1, maxLength: 3}),
    rates,
  });
  return fc.record({
    name: fc.string(),
    products: fc.constant(several),
    map: fc.record({zones: fc.array(zone, {minLength: 1, maxLength: 6})}),
    defaultRates: rates,
    positionLostRates: rates,
    outOfFieldRates: rates,
  });
});

function write(plan: TaskPlan): ReadonlyMap<string, Uint8Array> {
  return writeTaskData({name: "F", boundary: [box(-93, 42, -92.99, 42.01)]}, [plan], options).value;
}

describe("five hundred prescriptions written and read back", () => {
  it("lose no polygon, no rate and no more than 1e-9 degrees", () => {
    fc.assert(
      fc.property(zonePlan, (plan) => {
        const files = write(plan);
        const {value, issues} = readTaskData(files);
        expect(issues).toEqual([]);
        expect(checkTaskData(files)).toEqual([]);
        const zones = value.tasks[0]?.zones ?? [];
        const parts =
          "zones" in plan.map ? plan.map.zones.flatMap((z) => z.shape.map((shape) => ({shape, rates: z.rates}))) : [];
        const expected = [
          {rates: plan.defaultRates, shape: undefined},
          {rates: plan.outOfFieldRates, shape: undefined},
          {rates: plan.positionLostRates, shape: undefined},
          ...parts,
        ];
        expect(zones).toHaveLength(expected.length);
        expected.forEach(({rates, shape}, i) => {
          plan.products.forEach(({kind}, p) => {
            expect(Math.abs((zones[i]?.values[p]?.value as number) - (rates[p] as number))).toBeLessThanOrEqual(
              TOLERANCE[kind],
            );
          });
          expect(zones[i]?.shape.length).toBe(shape ? 1 : 0);
          if (shape) expect(furthest(shape, zones[i]?.shape[0] as LonLatPolygon)).toBeLessThanOrEqual(1e-9);
        });
      }),
      RUNS,
    );
  });

  it("lose no cell of a grid of either type", () => {
    const cells = fc
      .record({
        cols: fc.integer({min: 1, max: 12}),
        rows: fc.integer({min: 1, max: 12}),
        type: fc.constantFrom(1 as const, 2 as const),
        west: degree,
        north: degree,
      })
      .chain((shape) =>
        fc.record({
          shape: fc.constant(shape),
          rates: fc.array(fc.oneof(rate, fc.constant(Number.NaN)), {
            minLength: shape.cols * shape.rows,
            maxLength: shape.cols * shape.rows,
          }),
        }),
      );
    fc.assert(
      fc.property(cells, ({shape, rates}) => {
        const grid = {
          ...shape,
          cellWidth: 0.000123456789,
          cellHeight: 0.0000987654321,
          rates: [Float64Array.from(rates)],
        };
        const none = [0];
        const files = write({
          name: "T",
          products: [{name: "P", kind: "mass", unit: "kg/ha"}],
          map: {grid},
          defaultRates: none,
          positionLostRates: none,
          outOfFieldRates: none,
        });
        expect(checkTaskData(files)).toEqual([]);
        const read = readTaskData(files).value.tasks[0]?.grid?.layers[0]?.raster;
        expect(read).toMatchObject({
          cols: shape.cols,
          rows: shape.rows,
          cellWidth: grid.cellWidth,
          cellHeight: grid.cellHeight,
        });
        expect(Math.abs((read?.west ?? 9) - shape.west)).toBeLessThanOrEqual(1e-9);
        expect(Math.abs((read?.north ?? 9) - shape.north)).toBeLessThanOrEqual(1e-9);
        rates.forEach((given, i) => {
          const got = read?.values[i] as number;
          const wanted = Number.isNaN(given) && shape.type === 2 ? 0 : given;
          if (Number.isNaN(wanted)) expect(got).toBeNaN();
          else expect(Math.abs(got - wanted)).toBeLessThanOrEqual(TOLERANCE.mass);
        });
      }),
      RUNS,
    );
  });
});

/** Largest difference of any corner in degrees; infinite when rings or corners are missing. */
function furthest(a: LonLatPolygon, b: LonLatPolygon): number {
  if (a.length !== b.length) return Infinity;
  return Math.max(
    ...a.flatMap((ring, r) =>
      ring.length === b[r]?.length
        ? ring.flatMap(([lon, lat], i) => {
            const other = b[r]?.[i] as LonLat;
            return [Math.abs(lon - other[0]), Math.abs(lat - other[1])];
          })
        : [Infinity],
    ),
  );
}
