import {beforeAll, describe, expect, it} from "vitest";
import {makeField} from "../../src/geo/field.ts";
import {frameAt, multiPolygonToLonLat} from "../../src/geo/frame.ts";
import {loadGeos} from "../../src/geo/geos.ts";
import {perimeterM} from "../../src/geo/measure.ts";
import {compositesFor} from "../../src/sampling/composites-for.ts";
import {planWholeField} from "../../src/sampling/whole-field.ts";
import {SQUARE_METRES_PER_ACRE} from "../../src/units/factors.ts";
import {metres, squareMetres} from "../../src/units/quantity.ts";
import {fieldOf, rectangleFt, turned} from "./make-field.ts";

beforeAll(loadGeos);

const acres = (n: number) => squareMetres(n * SQUARE_METRES_PER_ACRE);
const quarter = fieldOf(rectangleFt(2640, 2640), "Home quarter");

describe("whole-field plans", () => {
  it("take the fewest composites the largest area allows", () => {
    // By hand: 160 / 20 = 8; 160 / 25 = 6.4, so 7; 38 / 5 = 7.6, so 8.
    expect(compositesFor(acres(160), acres(20))).toBe(8);
    expect(compositesFor(acres(160), acres(25))).toBe(7);
    expect(compositesFor(acres(38), acres(5))).toBe(8);
    expect(compositesFor(acres(3), acres(25))).toBe(1);
    expect(planWholeField(quarter).units).toHaveLength(7);
    expect(planWholeField(quarter, {maxArea: acres(20)}).units).toHaveLength(8);
  });

  it("count the same on a boundary that came in degrees", () => {
    const frame = frameAt(-86.4, 40.55);
    const {field} = makeField("q", "Quarter", multiPolygonToLonLat(frame, rectangleFt(2640, 2640)));
    expect(planWholeField(field, {maxArea: acres(20)}).units).toHaveLength(8);
  });

  it("cut all composites to one area", () => {
    for (const {area} of planWholeField(fieldOf(turned(rectangleFt(2400, 1900), 17))).units) {
      expect(area / ((2400 * 1900 * 0.3048 ** 2) / 5)).toBeCloseTo(1, 6); // 104.7 ac: 5 of at most 25 ac
    }
  });

  it("cut compact pieces: a square in four makes four squares", () => {
    const {units} = planWholeField(fieldOf(rectangleFt(2000, 2000)), {maxArea: acres(24)});
    expect(units).toHaveLength(4);
    for (const unit of units) expect(perimeterM(unit.shape)).toBeCloseTo(4 * 1000 * 0.3048, 6);
  });

  it("number the composites along a walk from the north-west corner, or from the gate", () => {
    const strip = fieldOf(rectangleFt(4000, 1000));
    const eastward = planWholeField(strip).units.map((unit) => unit.shape[0]?.[0]?.[0]?.x ?? 0);
    expect(eastward).toEqual([...eastward].sort((a, b) => a - b));
    const westward = planWholeField(strip, {start: {x: 4000 * 0.3048, y: 0}}).units.map(
      (u) => u.shape[0]?.[0]?.[0]?.x ?? 0,
    );
    expect(westward).toEqual([...westward].sort((a, b) => b - a));
    expect(planWholeField(strip).units.map((unit) => unit.label)[1]).toBe("composite 2 of 4");
  });

  it("are pooled into one rate unless asked otherwise, and record every option", () => {
    const plan = planWholeField(quarter);
    expect(plan.pooled).toBe(true);
    expect(planWholeField(quarter, {pooled: false}).pooled).toBe(false);
    expect(plan.units[0]?.cores).toHaveLength(20);
    expect(plan.depth).toBeCloseTo(0.2032, 10); // 8 in
    expect(plan.madeFrom).toEqual({
      step: "sampling/whole-field",
      inputs: ["home-quarter"],
      options: {
        maxArea: acres(25),
        pooled: true,
        prefix: "HQ",
        cores: 20,
        depth: 8 * 0.0254,
        edge: 30 * 0.3048,
        fieldEdge: 50 * 0.3048,
        keepOut: [],
        start: null,
        coreCvPct: 35,
        seed: 1,
      },
      seed: 1,
    });
  });

  it("move the cores and nothing else when the seed changes", () => {
    const [a, b] = [planWholeField(quarter, {seed: 1}), planWholeField(quarter, {seed: 2})];
    expect(a.units.map(({shape, id}) => ({shape, id}))).toEqual(b.units.map(({shape, id}) => ({shape, id})));
    expect(a.units[0]?.cores).not.toEqual(b.units[0]?.cores);
  });

  it("say in words what each sample stands for and how good a bag is", () => {
    const messages = planWholeField(quarter).issues.map((issue) => issue.message);
    expect(messages[0]).toBe("7 samples stand for 22.9 ac each on average, from 22.9 ac to 22.9 ac.");
    expect(messages[1]).toMatch(/^A bag of 20 cores is within 15 % of its unit's mean 19 times in 20/);
  });

  it("take as many cores as a wanted error needs, unless a number is given", () => {
    const cores = (options: object): number | undefined => planWholeField(quarter, options).units[0]?.cores.length;
    // 95 %, CV 35 %, 15 %: 24 cores with Student's t, worked from printed tables.
    expect(cores({errorPct: 15})).toBe(24);
    expect(cores({errorPct: 20, coreCvPct: 50})).toBe(27);
    expect(cores({errorPct: 15, cores: 9})).toBe(9);
  });

  it.each([
    [{cores: 0}, "sampling/cores"],
    [{cores: 2.5}, "sampling/cores"],
    [{depth: metres(0)}, "sampling/depth"],
    [{edge: metres(-1)}, "sampling/edge"],
    [{edge: metres(Number.NaN)}, "sampling/edge"],
    [{coreCvPct: 0}, "sampling/cv"],
    [{errorPct: 0}, "sampling/error-wanted"],
    [{errorPct: 1}, "sampling/cores"],
    [{prefix: "OIL"}, "sampling/prefix"],
    [{maxArea: squareMetres(0)}, "sampling/area"],
    [{maxArea: acres(0.1)}, "sampling/too-many-units"],
  ])("refuse %j", (options, code) => {
    expect(() => planWholeField(quarter, options)).toThrow(expect.objectContaining({name: "FieldError", code}));
  });
});
