import {FieldError, type Issue} from "../errors.ts";
import type {FileSet} from "../formats/file-set.ts";
import type {Field} from "../geo/field.ts";
import {loadGeos} from "../geo/geos.ts";
import {type Host, lendTo, step} from "./host.ts";
import type {Job} from "./job.ts";
import {judgeMadeZones, profileOf} from "./judge-made-zones.ts";
import {hasLayers, makeLayers} from "./make-layers.ts";
import {makeZones} from "./make-zones.ts";
import {type Remarks, readField} from "./read-inputs.ts";
import {zoneFile} from "./write-outputs.ts";
import {agreementRaster, type ZonesFound, zoneShapefile, zonesRecord} from "./zone-outputs.ts";

export interface ZonesRun extends ZonesFound {
  readonly field: Field;
  /** Names of layers by id, with their units. */
  readonly layerNames: ReadonlyMap<string, string>;
  /** `zones.geojson`, `zones.zip`, `zones.json` and, of built zones, `zones-agreement.tif`. */
  readonly outputs: ReadonlyMap<string, Uint8Array>;
  readonly issues: readonly Issue[];
}

/**
 * Makes the zones of a job, edits them as it says and judges them, without going on to sampling and rates.
 *
 * @throws {FieldError} `zones/no-layers`, and whatever a reader or stage refuses.
 */
export async function runZones(job: Job, given: FileSet, host: Host): Promise<ZonesRun> {
  if (!hasLayers(job) && !job.zones.import) {
    throw new FieldError("zones/no-layers", "There are no layers to make zones from.", {
      hint: 'Add yield logs, a soil map or elevation under "layers", or a map drawn elsewhere as "zones.import".',
    });
  }
  await loadGeos();
  const files = lendTo(given, host);
  const issues: Remarks = [];
  await step(host, "reading the boundary");
  const field = await readField(job, files, issues);
  const layers = await makeLayers(job, field, files, host, issues);
  const zones = await makeZones(job, field, layers, files, host, issues);
  const judgement = await judgeMadeZones(job, field, layers, zones, files, host, issues);
  const found: ZonesFound = {zones, profile: profileOf(job, layers, zones), judgement};
  const shapefile = zoneShapefile(field, zones);
  issues.push(...shapefile.issues);
  const {stability} = judgement;
  const outputs = new Map([
    ["zones.geojson", zoneFile(field, zones.map)],
    ["zones.zip", shapefile.zip],
    ...(stability ? [["zones-agreement.tif", agreementRaster(found, stability.agreement)] as const] : []),
    ["zones.json", zonesRecord(field, found, issues)],
  ]);
  const seen = [...layers.features, ...layers.seasons].map(({layer}) => layer);
  const layerNames = new Map(seen.map(({id, label, unit}) => [id, unit === "1" ? label : `${label}, ${unit}`]));
  return {field, ...found, layerNames, outputs, issues};
}
