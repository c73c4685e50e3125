import type {Issue} from "../errors.ts";
import {encodeUtf8} from "../formats/text.ts";
import {dbfNames} from "../formats/write-dbf.ts";
import {writeGeoTiff} from "../formats/write-geotiff.ts";
import {writeShapefile} from "../formats/write-shapefile.ts";
import {crsLocal} from "../geo/crs.ts";
import type {Field} from "../geo/field.ts";
import type {Judgement} from "../zones/judge/judgement.ts";
import type {ZoneProfile} from "../zones/profile.ts";
import type {MadeZones} from "./make-zones.ts";
import {zoneFeatures} from "./to-features.ts";
import {VERSION} from "./version.ts";

export interface ZonesFound {
  readonly zones: MadeZones;
  readonly profile: readonly ZoneProfile[];
  readonly judgement?: Judgement;
}

/** The zones as a shapefile in a zip: a record for each zone. */
export function zoneShapefile(field: Field, {map}: MadeZones): {zip: Uint8Array; issues: readonly Issue[]} {
  const features = zoneFeatures(field.frame, map);
  const keys = [...new Set(features.flatMap(({properties}) => Object.keys(properties)))];
  const names = dbfNames(keys);
  const isText = (key: string): boolean => features.some(({properties}) => typeof properties[key] === "string");
  const columns = keys.map((key, i) =>
    isText(key)
      ? ({name: names[i] as string, type: "C", width: key === "label" ? 60 : 120} as const)
      : ({name: names[i] as string, type: "N", width: 16, decimals: key === "zone" ? 0 : 4} as const),
  );
  const renamed = features.map((feature) => ({
    ...feature,
    properties: Object.fromEntries(keys.map((key, i) => [names[i] as string, feature.properties[key] ?? null])),
  }));
  const {value, issues} = writeShapefile({name: "zones", features: renamed}, columns);
  return {zip: value.zip, issues};
}

/** How sure each cell is of its zone, for a map: the share of resamples in which it is in the same one. */
export function agreementRaster({zones: {map}}: ZonesFound, agreement: Float64Array): Uint8Array {
  const {frame, west, north, cellSize, cols, rows} = map.grid;
  return writeGeoTiff({
    name: "zones-agreement",
    crs: crsLocal(frame.lon, frame.lat),
    west,
    north,
    cellWidth: cellSize,
    cellHeight: cellSize,
    cols,
    rows,
    values: agreement,
  });
}

/** Everything found about the zones, as plain data. Areas in m², shares from 0 to 1, layers in their own units. */
export function zonesRecord(
  field: Field,
  {zones, profile, judgement}: ZonesFound,
  issues: readonly Issue[],
): Uint8Array {
  const {map, choice, edits} = zones;
  const record = {
    kind: "zones",
    program: {name: "loamwright", version: VERSION},
    field: {name: field.name, areaM2: field.area, frame: field.frame},
    ...(choice && {choice}),
    zones: profile,
    varianceExplained: map.varianceExplained,
    ...(map.tidying && {tidying: map.tidying}),
    ...(edits.length > 0 && {edits}),
    ...(judgement && {judgement: plainJudgement(judgement)}),
    madeFrom: map.madeFrom,
    issues,
  };
  return encodeUtf8(`${JSON.stringify(record, null, 1)}\n`);
}

/** A judgement without the map of agreement, which is a raster of its own. */
export function plainJudgement({stability, ...rest}: Judgement): object {
  if (!stability) return rest;
  const {agreement: _, ...figures} = stability;
  return {...rest, stability: figures};
}
