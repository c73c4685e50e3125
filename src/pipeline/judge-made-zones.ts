import {isFieldError} from "../errors.ts";
import type {FileSet} from "../formats/file-set.ts";
import type {Field} from "../geo/field.ts";
import {areaM2} from "../geo/measure.ts";
import type {XY} from "../geo/shapes.ts";
import {cellAt, type Grid} from "../grid/grid.ts";
import {idKey} from "../lab/sample-id.ts";
import type {Analyte, SoilTest} from "../lab/soil-test.ts";
import type {SamplingPlan} from "../sampling/plan.ts";
import {METRES_PER_FOOT} from "../units/factors.ts";
import {type JudgeInput, judgeZones} from "../zones/judge/judge-zones.ts";
import type {Judgement} from "../zones/judge/judgement.ts";
import {labelCells} from "../zones/label-cells.ts";
import {profileZones, type ZoneProfile} from "../zones/profile.ts";
import type {PlacedValues} from "../zones/spatial-null.ts";
import {zoneStability} from "../zones/stability.ts";
import {zoneSettings} from "../zones/zone-options.ts";
import {type Host, step} from "./host.ts";
import type {Job} from "./job.ts";
import type {FieldLayers} from "./make-layers.ts";
import {makePlan} from "./make-plans.ts";
import {featuresWithout, type MadeZones} from "./make-zones.ts";
import type {Remarks} from "./read-inputs.ts";
import {readLabFiles} from "./read-lab-files.ts";
import {readSamplingFiles} from "./read-sampling-files.ts";

/** Resamples for stability, and the side of the squares they draw: farther than a combine smears. */
const RESAMPLES = 50;
const BLOCK_M = 50;

/** Tests that rates rest on. Organic matter and exchange capacity are what the soil map is made from. */
const JUDGED_BY: readonly Analyte[] = ["P", "K", "pH", "S", "Zn", "B", "Mn", "Fe", "Cu"];

/** What each zone is like. */
export function profileOf(job: Job, {features}: FieldLayers, {map}: MadeZones): ZoneProfile[] {
  const {minWidth} = job.zones;
  const swath = (typeof minWidth === "object" ? minWidth.swath : minWidth) ?? 100 * METRES_PER_FOOT;
  return profileZones(map, features, swath);
}

/**
 * Judges zones by everything a job keeps back: each yield season by the zones that the others make, and soil tests with
 * places: those of the grid plan, or where the lab's file says where samples were taken. Tests of the zone plan itself
 * are one to a zone and say nothing of differences within.
 */
export async function judgeMadeZones(
  job: Job,
  field: Field,
  layers: FieldLayers,
  zones: MadeZones,
  files: FileSet,
  host: Host,
  remarks: Remarks,
): Promise<Judgement> {
  const {grid, features} = layers;
  const {map, imported, options, edits} = zones;
  await step(host, "judging the zones");
  const settings = zoneSettings(areaM2(field.outline), options);
  const samples = await samplesOf(job, field, grid, files, remarks);
  const input: JudgeInput = {map, features, samples};
  const judgement = imported
    ? judgeZones({...input, features: [], layers: layers.seasons.map(({layer}) => layer)}, {seed: job.seed})
    : judgeZones(
        {
          ...input,
          seasonsLeftOut: layers.seasons.flatMap((season) => {
            const others = featuresWithout(layers, season);
            return others.length === 0
              ? []
              : [{layer: season.layer, zones: labelCells(field, grid, others, settings).labels}];
          }),
          stability: zoneStability(grid, labelCells(field, grid, features, settings), settings, RESAMPLES, BLOCK_M),
        },
        {seed: job.seed},
      );
  remarks.push(...judgement.issues);
  if (!imported && edits.some(({applied}) => applied) && layers.seasons.length > 0) {
    remarks.push({
      code: "zones/judged-as-built",
      severity: "note",
      message: "Yield seasons and stability judge the zones as built; soil tests judge them with the edits made.",
    });
  }
  return judgement;
}

/** Soil tests with places, one set for each analyte and method. */
async function samplesOf(
  job: Job,
  field: Field,
  grid: Grid,
  files: FileSet,
  remarks: Remarks,
): Promise<PlacedValues[]> {
  if (!job.lab) return [];
  try {
    const {tests, places} = await readLabFiles(job, field, files, []);
    const ground = await readSamplingFiles(job, field, files, []);
    const at = places ?? placesOfPlan(makePlan(job, field, "grid", undefined, ground));
    const byId = new Map(at.map((place) => [idKey(place.sampleId), place]));
    const sets = new Map<string, {test: SoilTest; cells: number[]; values: number[]}>();
    for (const test of tests) {
      const place = byId.get(idKey(test.sampleId));
      if (!place || !JUDGED_BY.includes(test.analyte)) continue;
      const key = `${test.analyte} ${test.method} ${test.unit}`;
      const set = sets.get(key) ?? {test, cells: [], values: []};
      set.cells.push(cellAt(grid, place.x, place.y));
      set.values.push(test.value);
      sets.set(key, set);
    }
    return [...sets].map(([id, {test, cells, values}]) => ({
      id,
      label: `${test.analyte} (${test.method})`,
      unit: test.unit,
      cells: Int32Array.from(cells),
      values: Float64Array.from(values),
    }));
  } catch (error) {
    if (!isFieldError(error)) throw error;
    remarks.push({
      code: "zones/no-soil-tests",
      severity: "note",
      message: `Lab results were not used to judge the zones: ${error.message}`,
    });
    return [];
  }
}

/** Each sample of a plan amid its cores. */
function placesOfPlan({units}: SamplingPlan): (XY & {sampleId: string})[] {
  return units.map(({id, cores}) => ({
    sampleId: id,
    x: cores.reduce((sum, {x}) => sum + x, 0) / cores.length,
    y: cores.reduce((sum, {y}) => sum + y, 0) / cores.length,
  }));
}
