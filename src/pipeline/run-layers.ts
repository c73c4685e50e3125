import {FieldError, type Issue} from "../errors.ts";
import type {FileSet} from "../formats/file-set.ts";
import {encodeUtf8} from "../formats/text.ts";
import {writeGeoTiff} from "../formats/write-geotiff.ts";
import {crsLocal} from "../geo/crs.ts";
import type {Field} from "../geo/field.ts";
import {loadGeos} from "../geo/geos.ts";
import {auditLayers, type LayersAudit} from "../layers/audit-layers.ts";
import {featureMatrix} from "../zones/feature-matrix.ts";
import {clusteringShares} from "../zones/theme-weights.ts";
import {zoneSettings} from "../zones/zone-options.ts";
import {type Host, lendTo, step} from "./host.ts";
import type {Job} from "./job.ts";
import {type FieldLayers, hasLayers, makeLayers} from "./make-layers.ts";
import {type Remarks, readField} from "./read-inputs.ts";
import {VERSION} from "./version.ts";
import {zoneOptionsOf} from "./zone-options.ts";

export interface LayersRun {
  readonly field: Field;
  readonly layers: FieldLayers;
  readonly audit: LayersAudit;
  /** Percent of the distance between cells that each layer carries when zones are made, by layer id. */
  readonly shares: ReadonlyMap<string, number>;
  /** A GeoTIFF of each layer in the field's frame, and `layers.json`. */
  readonly outputs: ReadonlyMap<string, Uint8Array>;
  readonly issues: readonly Issue[];
}

/**
 * Makes the layers of a job and says what they hold, without going on to zones.
 *
 * @throws {FieldError} `layers/none` for a job without any, and whatever a reader or stage refuses.
 */
export async function runLayers(job: Job, given: FileSet, host: Host): Promise<LayersRun> {
  if (!hasLayers(job)) {
    throw new FieldError("layers/none", "The job names nothing to make layers from.", {
      hint: 'Add yield logs, a soil map, elevation, rasters or points under "layers".',
    });
  }
  await loadGeos();
  const files = lendTo(given, host);
  const issues: Remarks = [];
  const field = await readField(job, files, issues);
  const layers = await makeLayers(job, field, files, host, issues);
  await step(host, "looking the layers over");
  const seen = [...layers.seasons.map(({layer}) => layer), ...layers.features.map(({layer}) => layer), ...layers.shown];
  const audit = auditLayers(
    seen.filter((layer, i) => seen.findIndex(({id}) => id === layer.id) === i),
    layers.mask,
  );
  const outputs = new Map(layers.outputs);
  const crs = crsLocal(field.frame.lon, field.frame.lat);
  for (const {id, grid, values} of seen) {
    const {west, north, cellSize, cols, rows} = grid;
    outputs.set(
      `layer-${id}.tif`,
      writeGeoTiff({name: id, crs, west, north, cellWidth: cellSize, cellHeight: cellSize, cols, rows, values}),
    );
  }
  const {shares, issues: doubts} = sharesOf(job, field, layers);
  issues.push(...doubts);
  const record = {
    kind: "layers",
    program: {name: "loamwright", version: VERSION},
    field: {name: field.name, areaM2: field.area, frame: field.frame},
    ...audit,
    shareOfDistancePct: Object.fromEntries(shares),
    ...(layers.ponds.length > 0 && {ponds: layers.ponds}),
    steps: layers.steps,
    issues,
  };
  outputs.set("layers.json", encodeUtf8(`${JSON.stringify(record, null, 1)}\n`));
  return {field, layers, audit, shares, outputs, issues};
}

/** What each layer would carry when zones are made by the job's settings; layers that would be left out are told. */
function sharesOf(
  job: Job,
  field: Field,
  {grid, features}: FieldLayers,
): {shares: Map<string, number>; issues: readonly Issue[]} {
  const {weights, ...rest} = zoneSettings(field.area, zoneOptionsOf(job));
  const matrix = featureMatrix(field, grid, features, weights, rest);
  return {shares: new Map(clusteringShares(matrix).map(({id, share}) => [id, 100 * share])), issues: matrix.issues};
}
