import type {Field} from "../../src/geo/field.ts";
import {makeField} from "../../src/geo/field.ts";
import {frameAt, multiPolygonToLonLat} from "../../src/geo/frame.ts";
import type {MultiPolygon} from "../../src/geo/shapes.ts";
import type {AppliedLog, RatePlan} from "../../src/prescription/as-applied/applied-log.ts";
import {squareMetres} from "../../src/units/quantity.ts";
import {ringOf} from "./fields.ts";

export const [WIDTH, HEIGHT, SWATH, SPEED] = [600, 240, 20, 5] as const;

/** A field in a frame of its own, its outline exactly as given. */
export function fieldOf(outline: MultiPolygon, areaM2: number): Field {
  const frame = frameAt(-86.4, 40.55);
  const {field} = makeField("f", "Heron Forty", multiPolygonToLonLat(frame, outline));
  return {...field, frame, outline, area: squareMetres(areaM2)};
}

export const oblong: Field = {
  id: "f",
  name: "Heron Forty",
  boundary: [],
  frame: frameAt(-86.4, 40.55),
  outline: [[ringOf(0, 0, WIDTH, HEIGHT)]],
  area: squareMetres(WIDTH * HEIGHT),
};

/** Three zones side by side, 200 m each. */
export function threeZones(rates: readonly number[] = [100, 200, 300]): RatePlan {
  return {
    units: rates.map((rateLbPerAcre, i) => ({
      id: `Z${i + 1}`,
      shape: [[ringOf(200 * i, 0, 200 * (i + 1), HEIGHT)]],
      area: squareMetres(200 * HEIGHT),
      rateLbPerAcre,
    })),
    elsewhereLbPerAcre: 0,
  };
}

export interface Row {
  x: number;
  y: number;
  t: number;
  rate: number;
  pass: number;
  on: number;
  swath: number;
}

/** Rate of the three zones at a place along the field. */
export const zoneRate =
  (rates: readonly number[] = [100, 200, 300]) =>
  (x: number): number =>
    rates[Math.max(0, Math.min(2, Math.floor(x / 200)))] as number;

/** To and fro, a record each second at its front edge, 20 s to turn. */
export function drive(
  passes: readonly number[],
  rateAt: (x: number, heading: 1 | -1) => number = (x, heading) => zoneRate()(x - (heading * SPEED) / 2),
): Row[] {
  const rows: Row[] = [];
  let t = 1000;
  passes.forEach((pass, n) => {
    const heading = n % 2 === 0 ? 1 : -1;
    for (let i = 1; i <= WIDTH / SPEED; i++) {
      const x = heading === 1 ? i * SPEED : WIDTH - i * SPEED;
      rows.push({x, y: SWATH * (pass + 0.5), t: t++, rate: rateAt(x, heading), pass: n, on: 1, swath: SWATH});
    }
    t += 20;
  });
  return rows;
}

export const ALL_PASSES = Array.from({length: HEIGHT / SWATH}, (_, i) => i);

export function logOf(rows: readonly Row[]): AppliedLog {
  const column = (key: keyof Row): Float64Array => Float64Array.from(rows, (row) => row[key]);
  return {
    id: "spread.csv",
    x: column("x"),
    y: column("y"),
    timeS: column("t"),
    rateLbPerAcre: column("rate"),
    swathM: column("swath"),
    working: column("on"),
  };
}
