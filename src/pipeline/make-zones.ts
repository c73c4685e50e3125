import {FieldError, withPlace} from "../errors.ts";
import type {FileSet} from "../formats/file-set.ts";
import type {Field} from "../geo/field.ts";
import {multiPolygonToPlane} from "../geo/frame.ts";
import {averageSeasons} from "../layers/seasons.ts";
import {USUAL_ZONE_CORES} from "../sampling/by-zone.ts";
import {coresPerBag} from "../sampling/options.ts";
import {buildZones} from "../zones/build-zones.ts";
import {type CountChoice, choosingCount} from "../zones/choose-count.ts";
import {replayEdits} from "../zones/edit/replay-edits.ts";
import type {EditOutcome, ZoneEdit} from "../zones/edit/zone-edit.ts";
import type {Feature} from "../zones/feature-matrix.ts";
import {type ForeignZone, importZones} from "../zones/import-zones.ts";
import type {ZoneMap} from "../zones/zone-map.ts";
import type {ZoneOptions} from "../zones/zone-options.ts";
import {layerFilesOf} from "./files-of.ts";
import {given} from "./given.ts";
import {breathe, type Host, step} from "./host.ts";
import type {Job} from "./job.ts";
import {type FieldLayers, hasLayers, makeLayers} from "./make-layers.ts";
import {readEdits} from "./read-edits.ts";
import {type Remarks, readVector, remarksAt} from "./read-inputs.ts";
import {remembered} from "./remembered.ts";
import {zoneOptionsOf} from "./zone-options.ts";

/** The zones of a job and how they came about. */
export interface MadeZones {
  /** After edits. */
  readonly map: ZoneMap;
  /** As the job asks, with the number of zones settled. */
  readonly options: ZoneOptions;
  readonly imported: boolean;
  /** Where the job leaves the number of zones to be chosen. */
  readonly choice?: CountChoice;
  readonly edits: readonly EditOutcome[];
}

/** The layers of a job and its zones, where it asks for them. */
export async function zonesOf(
  job: Job,
  field: Field,
  files: FileSet,
  host: Host,
  remarks: Remarks,
): Promise<{layers?: FieldLayers; zoneMap?: ZoneMap; zones?: MadeZones}> {
  const wanted = job.strategies.includes("zone");
  if (!hasLayers(job) && !(wanted && job.zones.import)) {
    if (!wanted) return {};
    throw new FieldError("zones/no-layers", "There are no layers to make zones from.", {
      hint: 'Add yield logs, a soil map or elevation under "layers", or leave "zone" out of "strategies".',
    });
  }
  const layers = await makeLayers(job, field, files, host, remarks);
  if (!wanted) return {layers};
  const zones = await makeZones(job, field, layers, files, host, remarks);
  return {layers, zoneMap: zones.map, zones};
}

/** Zones from layers, or from the file the job names, with the edits made. */
export async function makeZones(
  job: Job,
  field: Field,
  layers: FieldLayers,
  files: FileSet,
  host: Host,
  remarks: Remarks,
): Promise<MadeZones> {
  const {grid, features} = layers;
  const options = zoneOptionsOf(job);
  const edits = editsOf(job, files);
  const imported = job.zones.import !== undefined;
  /** Rests on the layers, and on nothing else but what is named. */
  const part = <T>(what: string, settings: unknown, make: () => Promise<T>) =>
    remembered(
      what,
      {settings: [field, grid, job.layers, job.seed, settings], files: layerFilesOf(job)},
      files,
      host,
      remarks,
      make,
    );
  const choice =
    job.zones.count === "choose" && !imported
      ? await part("choice of the number of zones", [job.zones, priceOfComposite(job), job.sampling.zone.maxArea], () =>
          choose(job, field, layers, options, host),
        )
      : undefined;
  if (choice) remarks.push(...choiceRemarks(choice));
  const settled = choice ? {...options, count: choice.recommended.count} : options;
  await step(host, imported ? "taking the zones" : "making zones");
  const base = imported
    ? await importMap(job, field, layers, files, remarks)
    : await part("zones", settled, async () => buildZones({field, grid, features}, settled));
  if (edits.length > 0) await step(host, "making the edits");
  const {map, outcomes} = replayEdits({field, grid, features}, base, edits, settled);
  const from = typeof job.zones.edits === "string" ? {file: job.zones.edits} : {};
  remarks.push(...base.issues, ...remarksAt(from, map.issues.slice(base.issues.length)));
  return {map, options: settled, imported, ...(choice && {choice}), edits: outcomes};
}

/** The layers zones would be made from if a season had never been harvested; empty when none are left. */
export function featuresWithout({seasons, features}: FieldLayers, season: FieldLayers["seasons"][number]): Feature[] {
  const others = seasons.filter((other) => other !== season).map(({layer}) => layer);
  return features.flatMap((feature) => {
    if (feature.layer.id !== YIELD_MEAN) return [feature];
    return others.length > 0 ? [{...feature, layer: averageSeasons(others).mean}] : [];
  });
}

/** Id of the layer that averages the seasons. */
const YIELD_MEAN = "yield-mean";

async function choose(
  job: Job,
  field: Field,
  layers: FieldLayers,
  options: ZoneOptions,
  host: Host,
): Promise<CountChoice> {
  await step(host, "choosing the number of zones");
  const {grid, features, seasons} = layers;
  const {mostToTry, samplingBudget, dropNoise, principalComponents, scale} = job.zones;
  const {count: _, ...others} = options;
  const keptBack = seasons
    .map((season) => ({layer: season.layer, features: featuresWithout(layers, season)}))
    .filter((one) => one.features.length > 0);
  const choosing = choosingCount(
    {field, grid, features, keptBack},
    {
      ...others,
      ...given({most: mostToTry}),
      features: given({dropNoise, components: principalComponents, scale}),
      sampling: given({
        composite: priceOfComposite(job),
        budget: samplingBudget,
        maxArea: job.sampling.zone.maxArea,
      }),
    },
  );
  let next = choosing.next();
  while (!next.done) {
    await breathe(host);
    next = choosing.next();
  }
  return next.value;
}

/** Dollars for the cores and the analysis of one sample; undefined without a lab price. */
function priceOfComposite({prices, sampling}: Job): number | undefined {
  if (prices?.lab === undefined) return undefined;
  const {errorPct, coreCvPct, zone} = sampling;
  const cores = coresPerBag({cores: zone.cores, errorPct, coreCvPct}, USUAL_ZONE_CORES);
  return prices.lab + (prices.core ?? 0) * cores;
}

function choiceRemarks({recommended, issues}: CountChoice): Remarks {
  const {count, sentence} = recommended;
  return [
    ...issues,
    {
      code: count === 1 ? "zones/do-not-zone" : "zones/count-chosen",
      severity: count === 1 ? "warning" : "note",
      message: sentence,
      ...(count === 1 && {hint: 'To have zones all the same, write their number as "count".'}),
    },
  ];
}

function editsOf(job: Job, files: FileSet): readonly ZoneEdit[] {
  const {edits = []} = job.zones;
  return typeof edits === "string" ? readEdits(files, edits) : (edits as readonly ZoneEdit[]);
}

async function importMap(
  job: Job,
  field: Field,
  {grid, features}: FieldLayers,
  files: FileSet,
  remarks: Remarks,
): Promise<ZoneMap> {
  const source = job.zones.import as NonNullable<Job["zones"]["import"]>;
  const {file, zone} = source;
  const read = await readVector(files, source, remarks);
  const polygons = read.features.flatMap(({geometry, properties}, i): ForeignZone[] => {
    if (geometry.type !== "Polygon" && geometry.type !== "MultiPolygon") return [];
    const parts = geometry.type === "Polygon" ? [geometry.coordinates] : geometry.coordinates;
    const name = zone === undefined ? i + 1 : properties[zone];
    if (name === undefined || name === null || name === "") {
      throw new FieldError("zones/import-unnamed", `Polygon ${i + 1} of ${file} has no "${zone}".`, {
        place: {file, row: i + 1},
        hint: `Name the attribute that tells zones under "zones.import"; there are: ${Object.keys(properties).join(", ")}.`,
      });
    }
    return [{name: String(name), shape: multiPolygonToPlane(field.frame, parts)}];
  });
  if (polygons.length === 0) {
    throw new FieldError("zones/import-nothing", `${file} holds no polygons.`, {
      place: {file},
      hint: "Give the zone map as polygons.",
    });
  }
  const map = withPlace({file}, () => importZones({field, grid, features}, polygons, zoneOptionsOf(job)));
  return {
    ...map,
    issues: remarksAt({file}, map.issues),
    madeFrom: {...map.madeFrom, inputs: [file, ...map.madeFrom.inputs]},
  };
}
