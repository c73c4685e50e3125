import type {FileSet} from "../formats/file-set.ts";
import type {Field} from "../geo/field.ts";
import {boxOf} from "../geo/measure.ts";
import {type Grid, gridOver} from "../grid/grid.ts";
import type {ClassLayer, Layer} from "../grid/layer.ts";
import {maskOf} from "../grid/rasterize.ts";
import type {FieldPond} from "../layers/terrain.ts";
import type {Provenance} from "../provenance.ts";
import type {Host} from "./host.ts";
import type {Job} from "./job.ts";
import {makeMeasured} from "./make-measured.ts";
import {makeSoil} from "./make-soil.ts";
import {makeTerrain} from "./make-terrain.ts";
import {makeYield, type YieldLayers} from "./make-yield.ts";
import type {Remarks} from "./read-inputs.ts";
import {remembered} from "./remembered.ts";

/** What the makers of layers are given. */
export interface LayerWork {
  readonly job: Job;
  readonly field: Field;
  readonly files: FileSet;
  readonly grid: Grid;
  readonly mask: Uint8Array;
  readonly host: Host;
  readonly remarks: Remarks;
}

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
  readonly seasons: YieldLayers["seasons"];
  /** Files the job asks for beside its layers: yield records with their reasons. */
  readonly outputs: ReadonlyMap<string, Uint8Array>;
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
  const part = <T>(what: string, settings: unknown, names: readonly string[], make: (work: LayerWork) => Promise<T>) =>
    remembered(what, {settings: [field, grid, settings], files: names}, files, host, remarks, (own) =>
      make({job, field, files, grid, mask, host, remarks: own}),
    );
  const {yield: logs, cleanedPoints, seasons, soilMap, elevation, rasters, points} = job.layers;
  const yields = await part("yield", {logs, cleanedPoints, seasons, seed: job.seed}, namesOf(logs), makeYield);
  const soil = await part("soil", {soilMap}, soilMap ? namesOf([soilMap, ...soilMap.tables]) : [], makeSoil);
  const terrain = await part("terrain", {elevation}, elevation ? [elevation.file] : [], makeTerrain);
  const measured = await part(
    "measured",
    {rasters, points, seed: job.seed},
    namesOf([...rasters, ...points]),
    makeMeasured,
  );
  const fromYield = yields.features.map((layer) => ({layer, theme: "yield" as const}));
  const features = [...fromYield, ...soil, ...terrain.features, ...measured];
  return {
    grid,
    mask,
    features,
    seasons: yields.seasons,
    shown: terrain.shown,
    ponds: terrain.ponds,
    outputs: yields.outputs,
    steps: [...yields.steps, ...features.map(({layer}) => layer.madeFrom)],
  };
}

const namesOf = (sources: readonly {readonly file: string}[]): string[] => sources.map(({file}) => file);
