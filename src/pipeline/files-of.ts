import type {Job} from "./job.ts";

/** Names of the files a job reads, as it spells them. */
export function filesOf(job: Job): string[] {
  const {field, zones, lab, rates, sampling, setbacks = [], compare} = job;
  return [
    ...new Set([
      fileOf(field.boundary),
      ...layerFilesOf(job),
      ...(zones.import ? [zones.import.file] : []),
      ...(typeof zones.edits === "string" ? [zones.edits] : []),
      ...(lab?.files.map(({file}) => file) ?? []),
      ...(lab?.earlier.map(({file}) => file) ?? []),
      ...samplingFiles(sampling),
      ...(sampling.taken?.files.map(({file}) => file) ?? []),
      ...setbacks.filter(({on}) => on).map(({file}) => file),
      ...(lab?.places ? [lab.places.file] : []),
      ...(compare.holdOuts?.files.map(({file}) => file) ?? []),
      ...(compare.holdOuts?.places ? [compare.holdOuts.places.file] : []),
      ...(typeof rates?.guide === "object" ? [rates.guide.file] : []),
    ]),
  ];
}

/** Those that its layers are made from. */
export function layerFilesOf({layers}: Job): string[] {
  const {yield: logs, soilMap, elevation, rasters, points} = layers;
  const terrain = elevation ? [elevation] : [];
  const sources = [...logs, ...(soilMap ? [soilMap, ...soilMap.tables] : []), ...terrain, ...rasters, ...points];
  return sources.map(({file}) => file);
}

function samplingFiles({keepOuts = [], gate, grid, wholeField, zone}: Job["sampling"]): string[] {
  const repeats = [wholeField.repeat, grid.repeat, zone.repeat];
  return [
    ...keepOuts.map(({file}) => file),
    ...(gate && "file" in gate ? [gate.file] : []),
    ...(grid.points ? [grid.points.file] : []),
    ...repeats.flatMap((repeat) => (repeat ? [repeat.units, repeat.cores] : [])),
  ];
}

/** The logs of the spreading and the rate files they are compared with, which only `runAsApplied` reads. */
export function appliedFilesOf({asApplied}: Job): string[] {
  const plans = asApplied.flatMap(({plan}) => (typeof plan === "object" ? [plan.file] : []));
  return [...new Set([...asApplied.flatMap(({files}) => files), ...plans])];
}

export function fileOf(source: string | {readonly file: string}): string {
  return typeof source === "string" ? source : source.file;
}
