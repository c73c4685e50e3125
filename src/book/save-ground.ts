import {readText} from "../formats/text.ts";
import {writeGeoTiff} from "../formats/write-geotiff.ts";
import {crsLocal} from "../geo/crs.ts";
import type {Feature, Geometry} from "../geo/features.ts";
import {multiPolygonToLonLat, toLonLat} from "../geo/frame.ts";
import type {ClassLayer, Layer} from "../grid/layer.ts";
import type {Core, SamplingPlan} from "../sampling/plan.ts";
import {SQUARE_METRES_PER_ACRE} from "../units/factors.ts";
import {roundHalfAway} from "../units/format.ts";
import type {ZoneMap} from "../zones/zone-map.ts";
import {keepBytes} from "./blobs.ts";
import type {Book} from "./book.ts";
import {addRow, addRows, type Row} from "./rows.ts";
import type {RunOf} from "./save-run.ts";

// Part of saving a run: layers, zones and plans.

/** Layers as rasters in the field's frame, with what they span. */
export function keepLayers(
  book: Book,
  {runId, field}: RunOf,
  features: readonly {readonly layer: Layer | ClassLayer; readonly theme: string}[],
): void {
  const crs = crsLocal(field.frame.lon, field.frame.lat);
  for (const {layer, theme} of features) {
    const {id, label, unit, grid, values} = layer;
    const {west, north, cellSize, cols, rows} = grid;
    const tiff = writeGeoTiff({
      name: id,
      crs,
      west,
      north,
      cellWidth: cellSize,
      cellHeight: cellSize,
      cols,
      rows,
      values,
    });
    addRow(book.db, "layers", {
      run_id: runId,
      layer: id,
      label,
      unit,
      theme,
      cell_size_m: cellSize,
      columns: cols,
      rows,
      ...(unit === "class" ? {} : spanOf(values)),
      sha256: keepBytes(book, tiff),
    });
  }
}

/** Zones as cells, to be kept beside the layers they were made from. */
export function zoneLayer({grid, cells, madeFrom}: ZoneMap): {layer: Layer; theme: string} {
  const values = Float64Array.from(cells, (zone) => (zone === 0 ? Number.NaN : zone));
  return {layer: {id: "zones", label: "Zones", unit: "class", grid, values, madeFrom}, theme: "zones"};
}

/** Zones, and the edits that the run's record tells of. */
export function keepZones({db}: Book, {runId, field, shapeCells}: RunOf, {zones}: ZoneMap, record?: Uint8Array): void {
  addRows(
    db,
    "zones",
    zones.map(({id, label, area, shape, means, classShares}) => ({
      cells: {
        ...shapeCells,
        zone: id,
        label,
        area_m2: area,
        acres: acresOf(area),
        means: JSON.stringify({...means, ...classShares}),
      },
      geometry: {type: "MultiPolygon", coordinates: multiPolygonToLonLat(field.frame, shape)},
    })),
  );
  editsIn(record).forEach((edit, i) => {
    addRow(db, "zone_edits", {run_id: runId, position: i + 1, edit: JSON.stringify(edit)});
  });
}

/** Plans with their units, cores and ways. */
export function keepPlans({db}: Book, {runId, field, shapeCells}: RunOf, plans: readonly SamplingPlan[]): void {
  for (const plan of plans) {
    const {strategy, units, duplicates = [], depth, pooled, walk, route, seed, madeFrom} = plan;
    const bags: readonly {id: string; cores: readonly Core[]; of?: string}[] = [...units, ...duplicates];
    addRow(db, "plans", {
      run_id: runId,
      strategy,
      bags: units.length,
      cores: bags.reduce((sum, {cores}) => sum + cores.length, 0),
      depth_m: depth,
      pooled,
      walk_m: walk,
      seed,
      made_from: JSON.stringify(madeFrom),
    });
    addRows(
      db,
      "sampling_units",
      units.map(({id, label, area, shape, cores, zone}) => ({
        cells: {
          ...shapeCells,
          strategy,
          sample: id,
          label,
          zone,
          area_m2: area,
          acres: acresOf(area),
          cores: cores.length,
          depth_m: depth,
        },
        geometry: {type: "MultiPolygon", coordinates: multiPolygonToLonLat(field.frame, shape)},
      })),
    );
    addRows(
      db,
      "cores",
      bags.flatMap(({id, cores, of}) =>
        cores.map(
          (core): Row => ({
            cells: {...shapeCells, strategy, sample: id, core: core.number, duplicate_of: of},
            geometry: {type: "Point", coordinates: toLonLat(field.frame, core)},
          }),
        ),
      ),
    );
    if (route && route.line.length > 1) {
      const coordinates = route.line.map((point) => toLonLat(field.frame, point));
      addRow(db, "routes", {...shapeCells, strategy, length_m: route.length}, {type: "LineString", coordinates});
    }
  }
}

/** Cores as the crew logged them, from the files a run writes of them. */
export function keepTaken({db}: Book, {shapeCells}: RunOf, outputs: ReadonlyMap<string, Uint8Array>): void {
  for (const [name, bytes] of outputs) {
    const plan = /^plan-(.+)-taken\.geojson$/.exec(name)?.[1];
    if (plan === undefined) continue;
    const {features} = JSON.parse(readText(bytes, name).value) as {features: Feature<TakenPoint>[]};
    addRows(
      db,
      "cores_taken",
      features.map(({geometry, properties: {sample, core, distance_ft, known_by, fell_in, off}}) => ({
        cells: {...shapeCells, plan, sample, core, distance_ft, known_by, fell_in, off},
        geometry,
      })),
    );
  }
}

type TakenPoint = Extract<Geometry, {type: "Point"}>;

function spanOf(values: Float64Array): {least: number; mean: number; most: number} {
  let [least, most, sum, count] = [Infinity, -Infinity, 0, 0];
  for (const value of values) {
    if (Number.isNaN(value)) continue;
    if (value < least) least = value;
    if (value > most) most = value;
    sum += value;
    count += 1;
  }
  const known = count > 0;
  return {least: known ? least : Number.NaN, mean: sum / count, most: known ? most : Number.NaN};
}

function editsIn(record: Uint8Array | undefined): unknown[] {
  if (!record) return [];
  const {zones} = JSON.parse(readText(record, "run.json").value) as {zones?: {edits?: unknown[]}};
  return zones?.edits ?? [];
}

const acresOf = (areaM2: number): number => roundHalfAway(areaM2 / SQUARE_METRES_PER_ACRE, 4);
