import type {Issue} from "../errors.ts";
import {encodeUtf8} from "../formats/text.ts";
import {writeGeoJson} from "../formats/write-geojson.ts";
import {writeGeoTiff} from "../formats/write-geotiff.ts";
import {type WrittenCell, writeTable} from "../formats/write-table.ts";
import {crsLocal} from "../geo/crs.ts";
import type {Field} from "../geo/field.ts";
import {multiPolygonToLonLat} from "../geo/frame.ts";
import type {AppliedRow, DifferenceMap, OffRateGround} from "../prescription/as-applied/applied-comparison.ts";
import {roundHalfAway} from "../units/format.ts";
import type {Host} from "./host.ts";
import {digests} from "./run.ts";
import type {AppliedRun} from "./run-as-applied.ts";
import {CAUTION, type Digest} from "./run-record.ts";
import {VERSION} from "./version.ts";

/** Cells of the map that is written, at least: the picture itself is finer than a spreader. */
const MAP_CELL_M = 2;

/** A table of all units, a map of each product's difference, and the record of it all. */
export async function appliedOutputs(
  field: Field,
  runs: readonly AppliedRun[],
  inputs: Readonly<Record<string, Digest>>,
  issues: readonly Issue[],
  host: Host,
): Promise<Map<string, Uint8Array>> {
  const outputs = new Map<string, Uint8Array>([["as-applied-units.csv", unitTable(runs)]]);
  const names = runs.map(({product}, i) => {
    const stem = `as-applied-${(product?.code ?? "rate").toLowerCase()}`;
    const earlier = runs.slice(0, i).filter((one) => one.product?.code === product?.code).length;
    return earlier > 0 ? `${stem}-${earlier + 1}` : stem;
  });
  runs.forEach(({map, off}, i) => {
    if (map) outputs.set(`${names[i]}-difference.tif`, differenceTiff(`${names[i]}-difference`, field, map));
    if (off) outputs.set(`${names[i]}-off-rate.geojson`, offRateFile(`${names[i]}-off-rate`, field, off));
  });
  const record = {
    kind: "as-applied",
    program: {name: "loamwright", version: VERSION},
    field: {name: field.name, areaM2: field.area, frame: field.frame},
    products: runs.map(({product, plan, ticketLb, comparison: {issues: _, ...comparison}}) => ({
      ...(product && {product: {code: product.code, name: product.name, analysis: product.analysis}}),
      plan,
      ...(ticketLb !== undefined && {ticketLb}),
      ...comparison,
    })),
    inputs,
    outputs: await digests(outputs, host),
    caution: CAUTION,
    issues,
  };
  outputs.set("as-applied.json", encodeUtf8(`${JSON.stringify(record, null, 1)}\n`));
  return outputs;
}

const COLUMNS: readonly (readonly [string, (row: AppliedRow) => number, number])[] = [
  ["acres", (row) => row.acres, 4],
  ["planned_lb", (row) => row.plannedLb, 2],
  ["applied_lb", (row) => row.appliedLb, 2],
  ["difference_lb", (row) => row.differenceLb, 2],
  ["difference_pct", (row) => row.differencePct, 2],
  ["covered_ac", (row) => row.coveredAcres, 4],
  ["gap_ac", (row) => row.gapAcres, 4],
  ["gap_lb", (row) => row.gapLb, 2],
  ["overlap_ac", (row) => row.overlapAcres, 4],
  ["overlap_lb", (row) => row.overlapLb, 2],
  ["under_ac", (row) => row.underAcres, 4],
  ["over_ac", (row) => row.overAcres, 4],
  ["off_ac", (row) => row.offAcres, 4],
];

function unitTable(runs: readonly AppliedRun[]): Uint8Array {
  const rows = runs.flatMap(({product, plan, comparison}) => {
    const {units, elsewhere, field, outside, total} = comparison;
    const about = [product?.code ?? "", comparison.id, plan];
    const cells = (row: AppliedRow): WrittenCell[] => [
      ...about,
      row.unit,
      ...COLUMNS.map(([, pick, decimals]) => rounded(pick(row), decimals)),
    ];
    const sparse = (unit: string, values: Readonly<Record<string, number>>): WrittenCell[] => [
      ...about,
      unit,
      ...COLUMNS.map(([name, , decimals]) => (name in values ? rounded(values[name] as number, decimals) : null)),
    ];
    return [
      ...units.map(cells),
      ...(elsewhere ? [cells(elsewhere)] : []),
      cells(field),
      sparse("outside", {covered_ac: outside.acres, applied_lb: outside.appliedLb}),
      sparse("total", {
        planned_lb: total.plannedLb,
        applied_lb: total.appliedLb,
        difference_lb: total.differenceLb,
        difference_pct: total.differencePct,
      }),
    ];
  });
  return writeTable(["product", "log", "plan", "unit", ...COLUMNS.map(([name]) => name)], rows);
}

const rounded = (value: number, decimals: number): number =>
  Number.isFinite(value) ? roundHalfAway(value, decimals) : Number.NaN;

/** Means over blocks of cells; NaN where a block has no ground. */
function differenceTiff(name: string, {frame}: Field, {grid, values}: DifferenceMap): Uint8Array {
  const by = Math.max(1, Math.ceil(MAP_CELL_M / grid.cellSize - 1e-9));
  const [cols, rows] = [Math.ceil(grid.cols / by), Math.ceil(grid.rows / by)];
  const sum = new Float64Array(cols * rows);
  const count = new Int32Array(cols * rows);
  for (let row = 0; row < grid.rows; row++) {
    for (let col = 0; col < grid.cols; col++) {
      const value = values[row * grid.cols + col] as number;
      if (Number.isNaN(value)) continue;
      const at = Math.floor(row / by) * cols + Math.floor(col / by);
      sum[at] = (sum[at] as number) + value;
      count[at] = (count[at] as number) + 1;
    }
  }
  const size = by * grid.cellSize;
  return writeGeoTiff({
    name,
    crs: crsLocal(frame.lon, frame.lat),
    west: grid.west,
    north: grid.north,
    cellWidth: size,
    cellHeight: size,
    cols,
    rows,
    values: sum.map((total, at) => (count[at] ? total / (count[at] as number) : Number.NaN)),
  });
}

function offRateFile(name: string, field: Field, off: readonly OffRateGround[]): Uint8Array {
  const features = off.map(({unit, shape, acres, plannedLbPerAcre, appliedLbPerAcre}) => ({
    geometry: {type: "MultiPolygon" as const, coordinates: multiPolygonToLonLat(field.frame, shape)},
    properties: {
      unit,
      acres: roundHalfAway(acres, 4),
      planned_lbac: roundHalfAway(plannedLbPerAcre, 2),
      applied_lbac: roundHalfAway(appliedLbPerAcre, 2),
    },
  }));
  return writeGeoJson({name, features}, {loamwright: {field: field.name, kind: "ground off the planned rate"}});
}
