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
import {bagsOf, wayOf} from "../report/sampling-bags.ts";
import {depthText, samplingSheetHtml} from "../report/sampling-sheet.ts";
import {type AskedTest, bagTable, submittalTable} from "../report/sampling-submittal.ts";
import {type Pace, timeOnField, USUAL_PACE} from "../sampling/pace.ts";
import type {SamplingPlan} from "../sampling/plan.ts";
import {planMark} from "../sampling/plan-mark.ts";
import type {ValidationSet} from "../sampling/validation-set.ts";
import {roundHalfAway} from "../units/format.ts";
import {given} from "./given.ts";
import type {Job} from "./job.ts";
import {coreFeatures, unitFeatures} from "./to-features.ts";
import {validationPlan} from "./validation-plan.ts";
import {planFiles} from "./write-outputs.ts";

/** Stands on every sampling sheet. */
export const SAMPLING_CAUTION =
  "This sheet says where to sample, not what to spread. Rates made from these samples must be checked against local nutrient-management code and signed by a licensed or certified adviser.";

/**
 * Everything a crew takes to the field for one plan, and the list that goes to the laboratory, as files by name: sheet
 * and labels to be printed, cores for receivers (GPX, KML, CSV, shapefile, GeoJSON), units as shapefile and GeoJSON.
 */
export function samplingPapers(job: Job, field: Field, plan: SamplingPlan, paper: Paper): Map<string, Uint8Array> {
  return new Map([
    ...crewPapers(job, field, plan, paper, plan.strategy),
    ...planFiles(field, plan),
    ...planShapefiles(field, plan),
  ]);
}

/** The same for validation bags, without units: they speak for their places alone. */
export function validationPapers(
  job: Job,
  field: Field,
  validation: ValidationSet,
  paper: Paper,
): Map<string, Uint8Array> {
  return crewPapers(job, field, validationPlan(validation), paper, "validation");
}

function crewPapers(
  job: Job,
  field: Field,
  plan: SamplingPlan,
  paper: Paper,
  kind: SamplingPlan["strategy"] | "validation",
): Map<string, Uint8Array> {
  const name = `plan-${kind}`;
  const about = {farm: job.farm, field: field.name, plan, ...(kind === "validation" && {kind})};
  const sheet = samplingSheetHtml(
    {
      ...about,
      areaM2: field.area,
      outline: field.outline,
      ...groundOf(plan),
      mark: planMark(plan),
      hours: plannedHours(job, plan),
      caution: SAMPLING_CAUTION,
    },
    paper,
  );
  const units = unitFeatures(field.frame, plan);
  const cores = coreFeatures(field.frame, plan);
  const bags = bagTable(about);
  const submittal = submittalTable({...about, tests: testsAsked(job)});
  return new Map([
    [`${name}-sheet.html`, encodeUtf8(sheet)],
    [`${name}-labels.html`, encodeUtf8(bagLabelsHtml(about, paper))],
    [`${name}-bags.csv`, writeTable(bags.header, bags.rows)],
    [`${name}-submittal.csv`, writeTable(submittal.header, submittal.rows)],
    [`${name}.gpx`, planGpx(field, plan, kind)],
    [`${name}.kml`, planKml(field, plan, kind, units, cores)],
    [`${name}-cores.csv`, coreTable(cores)],
  ]);
}

function planShapefiles(field: Field, plan: SamplingPlan): Map<string, Uint8Array> {
  const units = {name: `plan-${plan.strategy}-units`, features: unitFeatures(field.frame, plan)};
  const cores = {name: `plan-${plan.strategy}-cores`, features: coreFeatures(field.frame, plan)};
  const depth = {name: "depth_in", type: "N", width: 6, decimals: 2} as const;
  const sample = {name: "sample", type: "C", width: 16} as const;
  const count = (column: string) => ({name: column, type: "N", width: 4, decimals: 0}) as const;
  const written = new Map([
    [
      `${units.name}.zip`,
      writeShapefile(units, [
        sample,
        {name: "label", type: "C", width: 40},
        {name: "acres", type: "N", width: 12, decimals: 4},
        count("cores"),
        depth,
      ]).value.zip,
    ],
  ]);
  // A shapefile cannot be empty; a plan without any core has said so in its remarks.
  if (cores.features.length > 0) {
    written.set(`${cores.name}.zip`, writeShapefile(cores, [sample, count("core"), depth]).value.zip);
  }
  return written;
}

/** Hours a plan is reckoned to take at the job's pace, else the usual one. */
export function plannedHours(job: Job, plan: SamplingPlan): number {
  return timeOnField(plan, paceOf(job)).hours;
}

export function paceText(job: Job): string {
  const {secondsPerCore, secondsPerBag, walkingMph, drivingMph} = paceOf(job);
  const source = job.sampling.budget?.pace ? "as the job says, else assumed" : "assumed";
  return `${secondsPerCore} s a core, ${secondsPerBag} s a bag, ${walkingMph} mph from core to core, ${drivingMph} mph from bag to bag, ${source}`;
}

function paceOf(job: Job): Pace {
  return {...USUAL_PACE, ...given(job.sampling.budget?.pace ?? {})};
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
function planGpx(field: Field, plan: SamplingPlan, kind: string): Uint8Array {
  const {us} = depthText(plan.depth);
  const at = (p: XY) => toLonLat(field.frame, p);
  const bags = bagsOf(plan);
  const waypoints = bags.flatMap(({id, cores}) =>
    cores.map(
      ({number, x, y}): GpxPoint => ({
        position: at({x, y}),
        name: `${id}-${number}`,
        comment: `${us} deep, core ${number} of ${cores.length}`,
        type: "soil core",
      }),
    ),
  );
  const stops = bags.flatMap(({id, cores}): GpxPoint[] => {
    const [first] = cores;
    return first ? [{position: at(first), name: id, comment: `${cores.length} cores, ${us} deep`}] : [];
  });
  const walk = wayOf(plan, groundOf(plan).gate);
  return writeGpx({
    name: `${field.name}, ${kind}`,
    description: `Soil cores to ${us}. ${SAMPLING_CAUTION}`,
    waypoints,
    ...(stops.length > 1 && {routes: [{name: `${kind} bags`, points: stops}]}),
    tracks: [
      ...(walk.length > 1 ? [{name: `${kind} walk`, points: walk.map((p) => ({position: at(p)}))}] : []),
      ...field.boundary.flat().map((ring, i) => ({
        name: `boundary ${i + 1}`,
        points: ring.map((position) => ({position})),
      })),
    ],
  });
}

function planKml(
  field: Field,
  plan: SamplingPlan,
  kind: string,
  units: readonly Feature[],
  cores: readonly Feature[],
): Uint8Array {
  const way = wayOf(plan, groundOf(plan).gate);
  const walk: Feature[] =
    way.length < 2
      ? []
      : [
          {
            id: "walk",
            geometry: {type: "LineString", coordinates: way.map((p) => toLonLat(field.frame, p))},
            properties: {},
          },
        ];
  const boundary: Feature = {
    id: field.name,
    geometry: {type: "MultiPolygon", coordinates: field.boundary},
    properties: {},
  };
  return writeKml(
    `${field.name}, ${kind}`,
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
