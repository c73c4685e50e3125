import type {Field} from "../../src/geo/field.ts";
import {bufferLines, loadGeos} from "../../src/geo/geos.ts";
import {planGrid} from "../../src/sampling/by-grid.ts";
import {planZones} from "../../src/sampling/by-zone.ts";
import {makeKeepOut} from "../../src/sampling/keep-outs.ts";
import type {SamplingPlan} from "../../src/sampling/plan.ts";
import {walkingOrder, walkLengthM} from "../../src/sampling/walking-order.ts";
import {planWholeField} from "../../src/sampling/whole-field.ts";
import {seededRandom} from "../../src/stats/random.ts";
import {METRES_PER_FOOT, SQUARE_METRES_PER_ACRE} from "../../src/units/factors.ts";
import {metres, squareMetres} from "../../src/units/quantity.ts";
import {bandedZones, fieldOf, rectangleFt} from "../sampling/make-field.ts";

const RUNS = 5;

/** How long plans and routes take, in processor time: lines of text, the first a heading. */
export async function timePlans(): Promise<string[]> {
  await loadGeos();
  const quarter = fieldOf(rectangleFt(2640, 2640), "Quarter");
  const keepOuts = [
    makeKeepOut("ditch", {lines: [wavy(quarter)]}, metres(4), false),
    makeKeepOut("pond", {polygons: bufferLines([[{x: 560, y: 560}]], 40)}, metres(10), false),
  ];
  const gate = {x: 0, y: 0};
  const route = {rows: 90, insideField: true};
  const many = squareMetres(0.8 * SQUARE_METRES_PER_ACRE);
  const random = seededRandom(1, "bench/points");
  const points = Array.from({length: 2000}, () => ({x: 805 * random.next(), y: 805 * random.next()}));
  const plans: [string, number, () => SamplingPlan][] = [
    ["160 ac, whole field", 0.3, () => planWholeField(quarter)],
    ["160 ac, 64 cells", 0.3, () => planGrid(quarter)],
    ["160 ac, 64 points", 0.3, () => planGrid(quarter, {pattern: "point"})],
    ["160 ac, 3 zones", 0.3, () => planZones(quarter, bandedZones(quarter))],
    [
      "160 ac, 64 points, route round ditch and pond",
      0.3,
      () => planGrid(quarter, {pattern: "point", keepOuts, start: gate, route}),
    ],
    ["160 ac, 64 cells, route round ditch and pond", 0.3, () => planGrid(quarter, {keepOuts, start: gate, route})],
    ["160 ac, 200 cells of 10 cores", 3, () => planGrid(quarter, {cellArea: many})],
    [
      "the same, route round ditch and pond",
      3,
      () => planGrid(quarter, {cellArea: many, keepOuts, start: gate, route}),
    ],
  ];
  const lines = plans.map(([what, most, make]) => {
    const {seconds, value} = processorTime(make);
    const cores = value.units.reduce((sum, unit) => sum + unit.cores.length, 0);
    return line(what, `${value.units.length} bags, ${cores} cores`, seconds, most);
  });
  const {seconds, value: order} = processorTime(() => walkingOrder(points, {start: gate, returns: true}));
  const miles = walkLengthM(points, order, {start: gate, returns: true}) / 1609.344;
  return [
    `Plans and routes, processor seconds, least of ${RUNS}`,
    ...lines,
    line("a round past 2,000 points", `${miles.toFixed(1)} mi`, seconds, 3),
  ];
}

/** Least processor time of several runs: what else runs on the machine does not count. */
function processorTime<T>(work: () => T): {seconds: number; value: T} {
  let seconds = Infinity;
  let value: T | undefined;
  for (let run = 0; run < RUNS; run++) {
    const before = process.cpuUsage();
    value = work();
    const {user, system} = process.cpuUsage(before);
    seconds = Math.min(seconds, (user + system) / 1e6);
  }
  return {seconds, value: value as T};
}

function line(what: string, size: string, seconds: number, most: number): string {
  const kept = seconds < most ? "under" : "OVER";
  return `  ${what.padEnd(48)} ${size.padEnd(24)} ${seconds.toFixed(3)}  ${kept} ${most} s`;
}

/** A ditch with forty bends that leaves a gap at the east end. */
function wavy({outline}: Field) {
  const width = Math.max(...outline.flat(2).map(({x}) => x));
  return Array.from({length: 41}, (_, i) => ({
    x: -10 + ((width - 60 * METRES_PER_FOOT) * i) / 40,
    y: 380 + 25 * Math.sin(i / 2.2),
  }));
}
