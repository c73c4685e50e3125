import {samplingHours, USUAL_PACE} from "../compare/sampling-time.ts";
import {encodeUtf8} from "../formats/text.ts";
import type {GpxPoint} from "../formats/write-gpx.ts";
import {writeGpx} from "../formats/write-gpx.ts";
import {writeKml} from "../formats/write-kml.ts";
import {writeShapefile} from "../formats/write-shapefile.ts";
import {writeTable} from "../formats/write-table.ts";
import type {Feature} from "../geo/features.ts";
import type {Field} from "../geo/field.ts";
import {toLonLat} from "../geo/frame.ts";
import type {MultiPolygon, XY} from "../geo/shapes.ts";
import {findGuide} from "../recommend/find-guide.ts";
import {bagLabelsHtml} from "../report/bag-labels.ts";
import type {Paper} from "../report/page-html.ts";
import {depthText, samplingSheetHtml} from "../report/sampling-sheet.ts";
import {type AskedTest, bagTable, submittalTable} from "../report/sampling-submittal.ts";
import type {SamplingPlan} from "../sampling/plan.ts";
import {roundHalfAway} from "../units/format.ts";
import type {Job} from "./job.ts";
import {coreFeatures, unitFeatures} from "./to-features.ts";
import {planFiles} from "./write-outputs.ts";

/** Stands on every sampling sheet. */
export const SAMPLING_CAUTION =
  "This sheet says where to sample, not what to spread. Rates made from these samples must be checked against local nutrient-management code and signed by a licensed or certified adviser.";

/**
 * Everything a crew takes to the field for one plan, and the list that goes to the laboratory, as files by name: sheet
 * and labels to be printed, cores for receivers (GPX, KML, CSV, shapefile, GeoJSON), units as shapefile and GeoJSON.
 */
export function samplingPapers(job: Job, field: Field, plan: SamplingPlan, paper: Paper): Map<string, Uint8Array> {
  const name = `plan-${plan.strategy}`;
  const about = {farm: job.farm, field: field.name, plan};
  const sheet = samplingSheetHtml(
    {
      ...about,
      areaM2: field.area,
      outline: field.outline,
      ...groundOf(plan),
      hours: plannedHours(plan),
      caution: SAMPLING_CAUTION,
    },
    paper,
  );
  const units = unitFeatures(field.frame, plan);
  const cores = coreFeatures(field.frame, plan);
  const depth = {name: "depth_in", type: "N", width: 6, decimals: 2} as const;
  const sample = {name: "sample", type: "C", width: 16} as const;
  const bags = bagTable(about);
  const submittal = submittalTable({...about, tests: testsAsked(job)});
  return new Map([
    [`${name}-sheet.html`, encodeUtf8(sheet)],
    [`${name}-labels.html`, encodeUtf8(bagLabelsHtml(about, paper))],
    [`${name}-bags.csv`, writeTable(bags.header, bags.rows)],
    [`${name}-submittal.csv`, writeTable(submittal.header, submittal.rows)],
    [`${name}.gpx`, planGpx(field, plan)],
    [`${name}.kml`, planKml(field, plan, units, cores)],
    [`${name}-cores.csv`, coreTable(cores)],
    ...planFiles(field, plan),
    [
      `${name}-units.zip`,
      writeShapefile({name: `${name}-units`, features: units}, [
        sample,
        {name: "label", type: "C", width: 40},
        {name: "acres", type: "N", width: 12, decimals: 4},
        {name: "cores", type: "N", width: 4, decimals: 0},
        depth,
      ]).value.zip,
    ],
    ...(cores.length === 0
      ? []
      : [
          [
            `${name}-cores.zip`,
            writeShapefile({name: `${name}-cores`, features: cores}, [
              sample,
              {name: "core", type: "N", width: 4, decimals: 0},
              depth,
            ]).value.zip,
          ] as const,
        ]),
  ]);
}

/** Hours a plan is reckoned to take at the usual pace, which is an assumption without source. */
export function plannedHours(plan: SamplingPlan): number {
  const cores = plan.units.reduce((sum, unit) => sum + unit.cores.length, 0);
  return samplingHours(plan.walk ?? 0, plan.units.length, cores, USUAL_PACE);
}

/** What the laboratory is asked: the tests the job reads, else those its guide is for. */
export function testsAsked(job: Pick<Job, "lab" | "rates">): AskedTest[] {
  const read = job.lab?.files.flatMap(({analytes}) => analytes ?? []) ?? [];
  if (read.length > 0) {
    const asked = new Map<string, AskedTest>();
    for (const {analyte, method} of read) {
      const key = `${analyte} ${method}`;
      asked.set(key, {analyte, methods: [method as AskedTest["methods"][number]]});
    }
    return [...asked.values()];
  }
  // A guide of the user's own is not read for this: it needs its file.
  if (!job.rates || typeof job.rates.guide !== "string") return USUAL_TESTS;
  const needed = findGuide(job.rates.guide).nutrients.map(({test}) => test);
  const guideTests = needed.map(({analyte, methods}): AskedTest => ({analyte, methods}));
  return [...guideTests, ...USUAL_TESTS.filter(({analyte}) => !needed.some((need) => need.analyte === analyte))];
}

/** A basic package (common practice, no source); the laboratory's usual methods. */
const USUAL_TESTS: AskedTest[] = (["P", "K", "pH", "buffer pH", "OM", "CEC"] as const).map((analyte) => ({
  analyte,
  methods: [],
}));

// --- inside ---------------------------------------------------------------------------------------------------

/** Gate and keep-outs as the plan was made with them. */
function groundOf({madeFrom}: SamplingPlan): {gate?: XY; keepOut?: MultiPolygon} {
  const {start, keepOut} = madeFrom.options as {start?: XY | null; keepOut?: MultiPolygon};
  return {...(start && {gate: start}), ...(keepOut && keepOut.length > 0 && {keepOut})};
}

/** Waypoints for cores, a route from bag to bag, and the walk and the boundary as tracks, because GPX has no areas. */
function planGpx(field: Field, plan: SamplingPlan): Uint8Array {
  const {us} = depthText(plan.depth);
  const at = (p: XY) => toLonLat(field.frame, p);
  const waypoints = plan.units.flatMap(({id, cores}) =>
    cores.map(
      ({number, x, y}): GpxPoint => ({
        position: at({x, y}),
        name: `${id}-${number}`,
        comment: `${us} deep, core ${number} of ${cores.length}`,
        type: "soil core",
      }),
    ),
  );
  const stops = plan.units.flatMap(({id, cores}): GpxPoint[] => {
    const [first] = cores;
    return first ? [{position: at(first), name: id, comment: `${cores.length} cores, ${us} deep`}] : [];
  });
  const {gate} = groundOf(plan);
  const walk = [...(gate ? [gate] : []), ...plan.units.flatMap(({cores}) => cores)];
  return writeGpx({
    name: `${field.name}, ${plan.strategy}`,
    description: `Soil cores to ${us}. ${SAMPLING_CAUTION}`,
    waypoints,
    ...(stops.length > 1 && {routes: [{name: `${plan.strategy} bags`, points: stops}]}),
    tracks: [
      ...(walk.length > 1 ? [{name: `${plan.strategy} walk`, points: walk.map((p) => ({position: at(p)}))}] : []),
      ...field.boundary.flat().map((ring, i) => ({
        name: `boundary ${i + 1}`,
        points: ring.map((position) => ({position})),
      })),
    ],
  });
}

function planKml(field: Field, plan: SamplingPlan, units: readonly Feature[], cores: readonly Feature[]): Uint8Array {
  const stops = plan.units.flatMap((unit) => unit.cores);
  const walk: Feature[] =
    stops.length < 2
      ? []
      : [
          {
            id: "walk",
            geometry: {type: "LineString", coordinates: stops.map((p) => toLonLat(field.frame, p))},
            properties: {},
          },
        ];
  const boundary: Feature = {
    id: field.name,
    geometry: {type: "MultiPolygon", coordinates: field.boundary},
    properties: {},
  };
  return writeKml(
    `${field.name}, ${plan.strategy}`,
    [
      {name: "Boundary", features: [boundary], lineWidth: 4},
      {name: "Units", features: units},
      {name: "Walk", features: walk, lineWidth: 1},
      {name: "Cores", features: cores},
    ],
    SAMPLING_CAUTION,
  );
}

function coreTable(cores: readonly Feature[]): Uint8Array {
  return writeTable(
    ["order", "sample", "core", "lon", "lat", "depth_in"],
    cores.map(({geometry, properties}, i) => {
      const [lon, lat] = geometry.type === "Point" ? geometry.coordinates : [Number.NaN, Number.NaN];
      const {sample, core, depth_in} = properties as {sample: string; core: number; depth_in: number};
      return [i + 1, sample, core, roundHalfAway(lon, 9), roundHalfAway(lat, 9), depth_in];
    }),
  );
}
