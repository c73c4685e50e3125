import {existsSync, readFileSync} from "node:fs";
import {readTable} from "../../src/formats/read-table.ts";
import type {Field} from "../../src/geo/field.ts";
import {columnsToPlane, frameAround} from "../../src/geo/frame.ts";
import {loadGeos} from "../../src/geo/geos.ts";
import {areaM2, boxOf} from "../../src/geo/measure.ts";
import type {AppliedFiles} from "../../src/pipeline/job/as-applied.ts";
import type {Job} from "../../src/pipeline/job.ts";
import {readAsApplied} from "../../src/pipeline/read-as-applied.ts";
import {readField} from "../../src/pipeline/read-inputs.ts";
import {readJob} from "../../src/pipeline/read-job.ts";
import type {AppliedComparison} from "../../src/prescription/as-applied/applied-comparison.ts";
import type {AppliedLog, RatePlan} from "../../src/prescription/as-applied/applied-log.ts";
import {compareApplied} from "../../src/prescription/as-applied/compare-applied.ts";
import {comparePolygons} from "../../src/prescription/as-applied/compare-polygons.ts";
import {finite, median} from "../../src/stats/robust.ts";
import {METRES_PER_FOOT} from "../../src/units/factors.ts";
import {formatNumber} from "../../src/units/format.ts";
import {squareMetres} from "../../src/units/quantity.ts";
import {ringOf} from "../prescription/fields.ts";

// As-applied nitrogen of a real field in two seasons, and known rates put on a real machine's track, as Markdown:
// npx tsx tests/bench/as-applied-montana.ts
//
// No prescription of the field is given. What its two logs are compared with is one rate everywhere, the median of the
// log itself: the differences then say how uneven the spreading was, not how far it was from what was asked for.

const FOLDER = new URL("../../../shared/data/montana_wheat/", import.meta.url);
const CORN = new URL("../minnesota_corn/yield_log_2011.csv", FOLDER);
const FILES = ["boundary.geojson", "n_asapplied_2016.geojson", "n_applied_2018_utm12n.csv"];

async function main(): Promise<void> {
  if (!existsSync(FOLDER)) {
    console.log("skipped: no shared data");
    return;
  }
  await loadGeos();
  const files = new Map(FILES.map((name) => [name, new Uint8Array(readFileSync(new URL(name, FOLDER)))]));
  const job = readJob(JSON.stringify(JOB), "job.json");
  const field = await readField(job, files, []);
  const rows: string[][] = [];
  for (const [title, source] of sourcesOf(job)) rows.push(await seasonRow(title, field, files, source));
  console.log("Nitrogen as applied against the log's own median rate, one rate over the whole field:\n");
  console.log(table(SEASON_HEAD, rows));
  console.log(
    "\nTen strips at 60, 75 and 90 lb/ac put on the track of a real combine in corn (30 ft, its own times), late by a known time:\n",
  );
  const corn = new Uint8Array(readFileSync(CORN));
  const tracked = [0, 1.5, 3, 6].map((lagS) => trackRow(corn, lagS));
  console.log(table(TRACK_HEAD, tracked));
}

const JOB = {
  field: {name: "Wheat field", boundary: "boundary.geojson"},
  asApplied: [
    {files: ["n_asapplied_2016.geojson"]},
    {
      files: ["n_applied_2018_utm12n.csv"],
      crs: "EPSG:32612",
      swath: "35 ft",
      columns: {x: "x", y: "y", rate: "applied_lb_ac"},
    },
  ],
};

function sourcesOf({asApplied}: Job): [string, AppliedFiles][] {
  const [first, second] = asApplied as [AppliedFiles, AppliedFiles];
  const wider = {...second, swath: 1.1 * (second.swath as number)} as AppliedFiles;
  return [
    ["2016, polygons", first],
    ["2018, points in no order, 35 ft as their lines stand apart", second],
    ["2018, the same at 38.5 ft", wider],
  ];
}

const SEASON_HEAD = [
  "log",
  "records",
  "put out",
  "plan lb/ac",
  "field ac",
  "covered ac",
  "planned lb",
  "applied lb",
  "difference",
  "gap ac",
  "overlap ac",
  "overlap lb",
  "off by > 10 %, ac",
  "outside ac",
  "outside lb",
  "second account lb",
  "CPU s",
];

async function seasonRow(
  title: string,
  field: Field,
  files: ReadonlyMap<string, Uint8Array>,
  source: AppliedFiles,
): Promise<string[]> {
  const found = await readAsApplied(field, files, source, undefined, []);
  const rates =
    "log" in found
      ? (found.log.rateLbPerAcre as Float64Array)
      : Float64Array.from(found.polygons, ({rateLbPerAcre}) => rateLbPerAcre);
  const plan = oneRate(field, median(rates));
  const started = process.cpuUsage();
  const {comparison} =
    "log" in found
      ? compareApplied(field, plan, found.log, {swathM: source.swath})
      : comparePolygons(field, plan, found.polygons, {id: title});
  const {user} = process.cpuUsage(started);
  // Counted another way: polygons by area × rate, points by the mean rate of those inside times the acres covered.
  const again = "log" in found ? meanOfPoints(field, found.log) * comparison.field.coveredAcres : comparison.loggedLb;
  return [title, ...figures(comparison, plan), formatNumber(again ?? Number.NaN), formatNumber(user / 1e6, 1)];
}

function figures({records, field, total, outside}: AppliedComparison, plan: RatePlan): string[] {
  const ac = (value: number): string => (Number.isNaN(value) ? "not told" : formatNumber(value, 1));
  return [
    formatNumber(records.all),
    formatNumber(records.used),
    formatNumber(plan.units[0]?.rateLbPerAcre ?? Number.NaN, 1),
    ac(field.acres),
    ac(field.coveredAcres),
    formatNumber(total.plannedLb),
    formatNumber(total.appliedLb),
    `${formatNumber(total.differencePct, 1)} %`,
    ac(field.gapAcres),
    ac(field.overlapAcres),
    Number.isNaN(field.overlapLb) ? "not told" : formatNumber(field.overlapLb),
    ac(field.offAcres),
    ac(outside.acres),
    formatNumber(outside.appliedLb),
  ];
}

function oneRate(field: Field, rateLbPerAcre: number): RatePlan {
  return {
    units: [{id: "whole field", shape: field.outline, area: field.area, rateLbPerAcre}],
    elsewhereLbPerAcre: 0,
  };
}

/** Mean rate of the records above zero within the field's box. */
function meanOfPoints(field: Field, {x, y, rateLbPerAcre}: AppliedLog): number {
  const {west, south, east, north} = boxOf(field.outline);
  let sum = 0;
  let count = 0;
  rateLbPerAcre?.forEach((rate, i) => {
    const [px, py] = [x[i] as number, y[i] as number];
    if (!(rate > 0) || px < west || px > east || py < south || py > north) return;
    sum += rate;
    count++;
  });
  return sum / count;
}

const TRACK_HEAD = [
  "late by s",
  "lag found s",
  "ft",
  "correlation",
  "without lag",
  "passes",
  "records",
  "put out",
  "left by reason",
  "covered ac",
  "planned lb",
  "applied lb",
  "log's own account lb",
  "overlap ac",
  "under or over ac",
  "CPU s",
];

/** The machine's positions, times and swath as they were logged; rates as a machine behind the map puts them. */
function trackRow(bytes: Uint8Array, lagS: number): string[] {
  const {field, track} = cornTrack(bytes);
  const {plan, rateAt} = strips(field);
  const log = {...track, rateLbPerAcre: lateRates(track, lagS, rateAt)};
  const started = process.cpuUsage();
  const {comparison} = compareApplied(field, plan, log);
  const {user} = process.cpuUsage(started);
  const {lag, records, field: whole, total, loggedLb, passes} = comparison;
  return [
    formatNumber(lagS, 1),
    lag.refused ?? formatNumber(lag.lagS as number, 2),
    formatNumber((lag.lagM ?? Number.NaN) / METRES_PER_FOOT),
    formatNumber(lag.correlation ?? Number.NaN, 3),
    formatNumber(lag.correlationAtZero ?? Number.NaN, 3),
    formatNumber(passes),
    formatNumber(records.all),
    formatNumber(records.used),
    Object.entries(records.byReason)
      .map(([reason, count]) => `${count} ${reason}`)
      .join(", "),
    formatNumber(whole.coveredAcres, 1),
    formatNumber(total.plannedLb),
    formatNumber(total.appliedLb),
    formatNumber(loggedLb ?? Number.NaN),
    formatNumber(whole.overlapAcres, 1),
    formatNumber(whole.underAcres + whole.overAcres, 1),
    formatNumber(user / 1e6, 2),
  ];
}

/** The track, and the box of its positions as the field: no boundary of it is given. */
function cornTrack(bytes: Uint8Array): {field: Field; track: AppliedLog} {
  const {header, rows} = readTable(bytes, "corn.csv").value;
  const column = (name: string): Float64Array => Float64Array.from(rows, (row) => Number(row[header.indexOf(name)]));
  const [lon, lat] = [column("lon"), column("lat")];
  const frame = frameAround(Array.from(lon, (value, i): [number, number] => [value, lat[i] as number]));
  const {x, y} = columnsToPlane(frame, lon, lat);
  const [xs, ys] = [finite(x), finite(y)];
  const least = (values: Float64Array): number => values.reduce((a, b) => Math.min(a, b));
  const most = (values: Float64Array): number => values.reduce((a, b) => Math.max(a, b));
  const outline = [[ringOf(least(xs), least(ys), most(xs), most(ys))]];
  const field = {id: "c", name: "Corn field", boundary: [], frame, outline, area: squareMetres(areaM2(outline))};
  const track = {
    id: "corn.csv",
    x,
    y,
    timeS: column("gps_time_s"),
    distanceM: column("distance_in").map((inches) => (inches / 12) * METRES_PER_FOOT),
    swathM: new Float64Array(x.length).fill(30 * METRES_PER_FOOT),
  };
  return {field, track};
}

/** Ten strips across the longer side, 60, 75 and 90 lb/ac in turn. */
function strips(field: Field): {plan: RatePlan; rateAt: (x: number, y: number) => number} {
  const {west, east, south, north} = boxOf(field.outline);
  const rates = [60, 90, 75, 90, 60, 75, 60, 90, 60, 75];
  const upward = north - south > east - west;
  const [start, size] = upward ? [south, (north - south) / rates.length] : [west, (east - west) / rates.length];
  const units = rates.map((rateLbPerAcre, i) => {
    const [from, to] = [start + i * size, start + (i + 1) * size];
    const shape = [[upward ? ringOf(west, from, east, to) : ringOf(from, south, to, north)]];
    return {id: `strip ${i + 1}`, shape, area: squareMetres(areaM2(shape)), rateLbPerAcre};
  });
  const rateAt = (x: number, y: number): number =>
    rates[Math.max(0, Math.min(rates.length - 1, Math.floor(((upward ? y : x) - start) / size)))] as number;
  return {plan: {units, elsewhereLbPerAcre: 0}, rateAt};
}

/** Rate planned where the machine was so many seconds ago, between records by time. */
function lateRates({x, y, timeS}: AppliedLog, lagS: number, rateAt: (x: number, y: number) => number): Float64Array {
  const times = timeS as Float64Array;
  let j = 0;
  return Float64Array.from(times, (time) => {
    while (j + 1 < times.length && (times[j + 1] as number) <= time - lagS) j++;
    const next = Math.min(j + 1, times.length - 1);
    const gap = (times[next] as number) - (times[j] as number);
    const share = gap > 0 ? Math.max(0, Math.min(1, (time - lagS - (times[j] as number)) / gap)) : 0;
    const between = (column: Float64Array): number =>
      (column[j] as number) + share * ((column[next] as number) - (column[j] as number));
    return rateAt(between(x), between(y));
  });
}

function table(head: readonly string[], rows: readonly (readonly string[])[]): string {
  const line = (cells: readonly string[]): string => `| ${cells.join(" | ")} |`;
  return [line(head), line(head.map((_, i) => (i === 0 ? "---" : "---:"))), ...rows.map(line)].join("\n");
}

await main();
