import type {FileSet} from "../formats/file-set.ts";
import {writeGeoJson} from "../formats/write-geojson.ts";
import {writeTable} from "../formats/write-table.ts";
import type {Feature} from "../geo/features.ts";
import type {Field} from "../geo/field.ts";
import {toLonLat} from "../geo/frame.ts";
import type {XY} from "../geo/shapes.ts";
import {type AsTaken, asTaken, type TakenCore} from "../sampling/as-taken.ts";
import type {SamplingPlan} from "../sampling/plan.ts";
import type {ValidationSet} from "../sampling/validation-set.ts";
import {METRES_PER_FOOT} from "../units/factors.ts";
import {roundHalfAway} from "../units/format.ts";
import type {Job} from "./job.ts";
import {type Remarks, remarksAt} from "./read-inputs.ts";
import {readTaken} from "./read-taken.ts";
import {validationPlan} from "./validation-plan.ts";

/** A plan as it was carried out; validation bags are a plan of their own. */
export interface TakenPlan extends AsTaken {
  readonly kind: SamplingPlan["strategy"] | "validation";
}

/** What a job's sampling logs say of its plans and validation bags, and the files that hold it; nothing without logs. */
export async function takenOfPlans(
  job: Job,
  field: Field,
  plans: readonly SamplingPlan[],
  files: FileSet,
  remarks: Remarks,
  validation?: ValidationSet,
): Promise<{taken: TakenPlan[]; outputs: Map<string, Uint8Array>}> {
  const validated = validation && validationPlan(validation);
  const logs = await readTaken(job, field, [...plans, ...(validated ? [validated] : [])], files, remarks);
  const outputs = new Map<string, Uint8Array>();
  const taken = [...logs].map(([plan, log]): TakenPlan => {
    const kind: TakenPlan["kind"] = plan === validated ? "validation" : plan.strategy;
    const result = {...asTaken(plan, log, {tolerance: job.sampling.taken?.tolerance}), kind};
    const name = `plan-${kind}-taken`;
    remarks.push(...remarksAt({file: name}, result.issues));
    outputs.set(`${name}.geojson`, takenGeoJson(field, result, name));
    outputs.set(`${name}.csv`, takenCsv(field, result));
    return result;
  });
  return {taken, outputs};
}

/** In short, for the record of a run: counts and distances by bag; the cores themselves stand in the files. */
export function takenRecord({kind, units, strays, meanDistance, mostDistance, madeFrom}: TakenPlan): unknown {
  return {
    plan: kind,
    meanDistanceM: meanDistance,
    mostDistanceM: mostDistance,
    strays: strays.length,
    units: units.map(({id, planned, cores, missing, skipped}) => ({
      id,
      planned,
      taken: cores.length,
      missing,
      off: cores.filter(({off}) => off).length,
      ...(skipped !== undefined && {skipped}),
    })),
    madeFrom,
  };
}

/** A point where each core was taken; where it was planned stands in its attributes. */
function takenGeoJson(field: Field, {kind, units}: TakenPlan, name: string): Uint8Array {
  const features = units.flatMap(({cores}) =>
    cores.map((core, i): Feature => {
      const [lon, lat] = core.planned ? degrees(field, core.planned) : [null, null];
      return {
        id: `${core.bag}-${core.number ?? `extra-${i + 1}`}`,
        geometry: {type: "Point", coordinates: toLonLat(field.frame, core.taken)},
        properties: {...takenColumns(core), planned_lon: lon, planned_lat: lat},
      };
    }),
  );
  return writeGeoJson({name, features}, {loamwright: {field: field.name, plan: kind, kind: "cores as taken"}});
}

function takenColumns({bag, number, distance, by, fellIn, off}: TakenCore) {
  return {
    sample: bag,
    core: number ?? null,
    distance_ft: distance === undefined ? null : roundHalfAway(distance / METRES_PER_FOOT, 1),
    known_by: by,
    fell_in: fellIn ?? null,
    off,
  };
}

/** A row for each core taken, then one for each that was planned and not taken. */
function takenCsv(field: Field, {units}: AsTaken): Uint8Array {
  const rows = units.flatMap(({id, cores, missing, skipped}) => [
    ...cores.map((core) => {
      const {sample, core: number, distance_ft, known_by, fell_in, off} = takenColumns(core);
      const planned = core.planned ? degrees(field, core.planned) : [null, null];
      return [
        sample,
        number,
        off ? "off" : "taken",
        ...planned,
        ...degrees(field, core.taken),
        distance_ft,
        known_by,
        fell_in,
        core.timeS ?? null,
        null,
      ];
    }),
    ...missing.map((number) => [
      id,
      number,
      skipped === undefined ? "missing" : "skipped",
      ...Array.from({length: 8}, () => null),
      skipped ?? null,
    ]),
  ]);
  return writeTable(
    [
      "sample",
      "core",
      "state",
      "planned_lon",
      "planned_lat",
      "taken_lon",
      "taken_lat",
      "distance_ft",
      "known_by",
      "fell_in",
      "time_s",
      "why",
    ],
    rows,
  );
}

function degrees(field: Field, point: XY): [lon: number, lat: number] {
  const [lon, lat] = toLonLat(field.frame, point);
  return [roundHalfAway(lon, 9), roundHalfAway(lat, 9)];
}
