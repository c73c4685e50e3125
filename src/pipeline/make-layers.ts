import {withPlace} from "../errors.ts";
import type {FileSet} from "../formats/file-set.ts";
import type {Field} from "../geo/field.ts";
import {boxOf} from "../geo/measure.ts";
import {type Grid, gridOver} from "../grid/grid.ts";
import type {ClassLayer, Layer} from "../grid/layer.ts";
import {maskOf} from "../grid/rasterize.ts";
import {type CleanedYield, cleanYield} from "../layers/clean-yield.ts";
import {gridYield} from "../layers/grid-yield.ts";
import {averageSeasons, normaliseSeason} from "../layers/seasons.ts";
import type {FieldPond} from "../layers/terrain.ts";
import type {Provenance} from "../provenance.ts";
import {type Host, step} from "./host.ts";
import type {Job} from "./job.ts";
import {makeMeasured} from "./make-measured.ts";
import {makeSoil} from "./make-soil.ts";
import {makeTerrain} from "./make-terrain.ts";
import type {Remarks} from "./read-inputs.ts";
import {readYield} from "./read-yield.ts";

/** One layer and the side of the argument it stands for when zones are made. */
export interface ThemedLayer {
  readonly layer: Layer | ClassLayer;
  readonly theme: "yield" | "soil" | "terrain" | "sensed";
  readonly weight?: number;
}

export interface FieldLayers {
  readonly grid: Grid;
  readonly mask: Uint8Array;
  /** Layers zones are made from, the leading one first. */
  readonly features: readonly ThemedLayer[];
  /** Everything made on the way, for those who look. */
  readonly seasons: readonly {readonly cleaned: CleanedYield; readonly layer: Layer<"% of mean">}[];
  /** Terrain layers and ponds that were asked for to be looked at. */
  readonly shown: readonly Layer[];
  readonly ponds: readonly FieldPond[];
  readonly steps: readonly Provenance[];
}

/** Whether a job names anything to make layers from. */
export function hasLayers({layers}: Job): boolean {
  const {yield: logs, rasters, points, soilMap, elevation} = layers;
  return logs.length + rasters.length + points.length > 0 || soilMap !== undefined || elevation !== undefined;
}

/** Every layer of the job on the field's grid. */
export async function makeLayers(
  job: Job,
  field: Field,
  files: FileSet,
  host: Host,
  remarks: Remarks,
): Promise<FieldLayers> {
  const {cellSize, mostCells} = job.layers;
  const grid = gridOver(field.frame, boxOf(field.outline), cellSize, 0, mostCells);
  const mask = maskOf(grid, field.outline);
  const yields = await yieldLayers(job, field, files, grid, mask, host, remarks);
  const soil = await makeSoil(job, field, files, grid, host, remarks);
  const terrain = await makeTerrain(job, field, files, grid, mask, host, remarks);
  const measured = await makeMeasured(job, field, files, grid, mask, host, remarks);
  const features = [...yields.features, ...soil, ...terrain.features, ...measured];
  return {
    grid,
    mask,
    features,
    seasons: yields.seasons,
    shown: terrain.shown,
    ponds: terrain.ponds,
    steps: [...yields.seasons.map(({cleaned}) => cleaned.madeFrom), ...features.map(({layer}) => layer.madeFrom)],
  };
}

async function yieldLayers(
  job: Job,
  field: Field,
  files: FileSet,
  grid: Grid,
  mask: Uint8Array,
  host: Host,
  remarks: Remarks,
): Promise<{features: ThemedLayer[]; seasons: FieldLayers["seasons"]}> {
  const seasons: {cleaned: CleanedYield; layer: Layer<"% of mean">}[] = [];
  for (const source of job.layers.yield) {
    await step(host, `reading ${source.file}`);
    for (const {log, groups} of await readYield(field, files, source, remarks)) {
      await step(host, `cleaning ${log.crop} ${log.season}`);
      const {file} = source;
      const cleaned = withPlace({file}, () =>
        cleanYield(log, field, {...(source.delay !== undefined && {delayS: source.delay})}, groups),
      );
      const gridded = withPlace({file}, () => gridYield(cleaned, grid, mask, {...(groups && {groups})}));
      const relative = normaliseSeason(gridded.layer);
      remarks.push(
        ...[...cleaned.issues, ...gridded.issues, ...relative.issues].map((issue) => ({
          ...issue,
          place: {file, ...issue.place},
        })),
      );
      seasons.push({cleaned, layer: relative.layer});
    }
  }
  if (seasons.length === 0) return {features: [], seasons};
  const average = averageSeasons(seasons.map(({layer}) => layer));
  remarks.push(...average.issues);
  return {features: [{layer: average.mean, theme: "yield"}], seasons};
}
