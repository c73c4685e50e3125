import type {FileSet} from "../formats/file-set.ts";
import {writeGeoJson} from "../formats/write-geojson.ts";
import type {Job} from "../pipeline/job.ts";
import {featuresOf} from "../pipeline/read-sampling-files.ts";
import type {GroundKind} from "./api-types.ts";

/**
 * A keep-out or setback as it was drawn, before any distance: GeoJSON. Undefined where the job has no such entry.
 *
 * @param entry - Counts from 0 in the job's list.
 */
export async function drawnGround(
  job: Job,
  files: FileSet,
  kind: GroundKind,
  entry: number,
): Promise<Uint8Array | undefined> {
  const source = groundFiles(job, kind)[entry];
  if (!source) return undefined;
  const features = await featuresOf(files, source, []);
  return writeGeoJson({name: kind, features: features.map(({geometry}) => ({geometry, properties: {}}))});
}

/** Where a job has its keep-outs or setbacks from, in the order of its list. */
export const groundFiles = ({sampling, setbacks}: Job, kind: GroundKind) =>
  (kind === "keep-out" ? sampling.keepOuts : setbacks) ?? [];
