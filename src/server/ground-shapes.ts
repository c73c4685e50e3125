import type {FileSet} from "../formats/file-set.ts";
import {writeGeoJson} from "../formats/write-geojson.ts";
import type {Field} from "../geo/field.ts";
import {multiPolygonToLonLat} from "../geo/frame.ts";
import {intersection} from "../geo/geos.ts";
import {areaM2} from "../geo/measure.ts";
import type {MultiPolygon} from "../geo/shapes.ts";
import type {Job} from "../pipeline/job.ts";
import {setbackGround} from "../pipeline/make-setbacks.ts";
import {readKeepOuts} from "../pipeline/read-sampling-files.ts";
import {SQUARE_METRES_PER_ACRE} from "../units/factors.ts";
import {roundHalfAway} from "../units/format.ts";

const NAMES = ["keep-outs", "setbacks"] as const;
type GroundName = (typeof NAMES)[number];

export const isGroundName = (name: string): name is GroundName => (NAMES as readonly string[]).includes(name);

/** Which of the two a job has any of; setbacks that are off do not count. */
export function groundNames({sampling: {keepOuts = []}, setbacks = []}: Job): GroundName[] {
  return NAMES.filter((name) => (name === "keep-outs" ? keepOuts.length > 0 : setbacks.some(({on}) => on)));
}

/** What keep-outs and setbacks are read from. */
export interface GroundWork {
  readonly job: Job;
  readonly field: Field;
  readonly files: FileSet;
}

/** The ground of keep-outs or setbacks, the distance included; `entry` counts from 0 in the job's list. */
export async function groundFile(made: GroundWork, name: GroundName): Promise<Uint8Array> {
  const {field} = made;
  const grounds = name === "keep-outs" ? await keepOutsOf(made) : await setbacksOf(made);
  const features = grounds.map(({shape, entry, ...said}) => ({
    geometry: {type: "MultiPolygon" as const, coordinates: multiPolygonToLonLat(field.frame, shape)},
    properties: {
      ...said,
      entry,
      acres: roundHalfAway(areaM2(intersection(field.outline, shape)) / SQUARE_METRES_PER_ACRE, 4),
    },
  }));
  return writeGeoJson({name, features}, {loamwright: {field: field.name, kind: name}});
}

// --- inside ---------------------------------------------------------------------------------------------------

interface Ground {
  readonly entry: number;
  readonly name: string;
  readonly kind: string | null;
  readonly shape: MultiPolygon;
}

async function keepOutsOf({job, field, files}: GroundWork): Promise<Ground[]> {
  const kinds = job.sampling.keepOuts ?? [];
  const read = await readKeepOuts(job, field, files, []);
  return read.map(({name, shape}, entry) => ({entry, name, kind: kinds[entry]?.kind ?? null, shape}));
}

async function setbacksOf({job, field, files}: GroundWork): Promise<Ground[]> {
  const grounds: Ground[] = [];
  for (const [entry, source] of (job.setbacks ?? []).entries()) {
    const {name, kind, on} = source;
    if (on) grounds.push({entry, name, kind, shape: await setbackGround(field, files, source, [])});
  }
  return grounds;
}
