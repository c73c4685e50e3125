import type {Issue} from "../errors.ts";
import {checkTaskData} from "../formats/iso11783/check-task-data.ts";
import {lbPerAcreOf, planTask, type TaskMap} from "../formats/iso11783/plan-task.ts";
import {readTaskData} from "../formats/iso11783/read-task-data.ts";
import type {ReadGrid, ReadTask} from "../formats/iso11783/task-data.ts";
import {writeTaskData} from "../formats/iso11783/write-task-data.ts";
import {ZONE_ROOM} from "../formats/iso11783/zone-codes.ts";
import {unzip, zip} from "../formats/zip.ts";
import type {Field} from "../geo/field.ts";
import {multiPolygonToLonLat} from "../geo/frame.ts";
import {checkGrid} from "../prescription/check-grid.ts";
import {checkPrescription} from "../prescription/check-prescription.ts";
import {many} from "../prescription/count-words.ts";
import type {BuiltPrescription, Product} from "../prescription/prescription.ts";
import type {Receipt} from "../prescription/receipt.ts";
import {metres} from "../units/quantity.ts";
import type {HandOver} from "./rate-files.ts";
import {VERSION} from "./version.ts";

const DEFAULTS: HandOver["task"] = {cell: metres(10), units: "us", edition: 4};
/** Corners have nine decimals of a degree. */
const ROUNDING_M = 1e-4;

/**
 * Prescriptions of one strategy as zipped task data (ISO 11783-10), read back and compared.
 *
 * Rates are whole mg/m² (0.01 mm³/m² of fluids) in the file, so each comes back within half of one: 0.0045 lb/ac.
 *
 * @param groups - Each becomes a task: prescriptions that share their polygons.
 */
export function taskDataFile(
  field: Field,
  groups: readonly (readonly BuiltPrescription[])[],
  options: HandOver["task"] = DEFAULTS,
  farm?: string,
): {files: Map<string, Uint8Array>; receipts: Receipt[]; issues: Issue[]} {
  const {strategy} = groups.flat()[0] as BuiltPrescription;
  const file = `taskdata-${strategy}.zip`;
  const issues: Issue[] = [];
  const plans = groups.map((group, i) => {
    const name = i === 0 ? `${field.name} ${strategy}` : `${field.name} ${group.map((p) => p.product.code).join(" ")}`;
    return planTask(field.frame, name, group, options.units, mapOf(group, options, file, issues));
  });
  const customer = options.customer === undefined ? {} : {customer: options.customer};
  const farmName = options.farm ?? farm;
  const written = writeTaskData(
    {
      name: field.name,
      boundary: multiPolygonToLonLat(field.frame, field.outline),
      ...customer,
      ...(farmName === undefined ? {} : {farm: farmName}),
    },
    plans,
    {version: options.edition, softwareVersion: VERSION},
  );
  issues.push(...written.issues.map((issue) => ({...issue, place: {file, ...issue.place}})));
  const bytes = zip(written.value);
  const members = unzip(bytes, file);
  const faults = checkTaskData(members);
  if (faults.length > 0) throw new Error(`task data we wrote breaks the rules: ${JSON.stringify(faults.slice(0, 3))}`);
  const {tasks} = readTaskData(members).value;
  const receipts = groups.flatMap((group, i) =>
    group.map((prescription, p) => receiptOf(field, prescription, p, tasks[i] as ReadTask, file)),
  );
  issues.push(...receipts.flatMap((receipt) => receipt.issues));
  return {files: new Map([[file, bytes]]), receipts, issues};
}

/** Zones, unless there are more than the format has codes for and nothing else was asked for. */
function mapOf(
  group: readonly BuiltPrescription[],
  {map, cell}: HandOver["task"],
  file: string,
  issues: Issue[],
): TaskMap {
  if (map === "grid 1" || map === "grid 2") return {type: map === "grid 1" ? 1 : 2, cellM: cell};
  const count = group[0]?.polygons.length ?? 0;
  if (map === "zones" || count <= ZONE_ROOM) return "zones";
  issues.push({
    code: "hand-over/as-grid",
    severity: "note",
    message: `${many(count, "polygon")} are more than the ${ZONE_ROOM} zones of a task: the map is written as cells that hold their rates.`,
    place: {file},
    hint: 'Say "map": "grid 2" to ask for it, or make fewer polygons.',
  });
  return {type: 2, cellM: cell};
}

function receiptOf(
  field: Field,
  prescription: BuiltPrescription,
  index: number,
  task: ReadTask,
  file: string,
): Receipt {
  const {product} = prescription;
  const toleranceLb = rateStep(product) / 2 + 1e-9;
  if (task.grid) {
    return checkGrid(prescription, cellsOf(task.grid, index, product), {
      frame: field.frame,
      file,
      rateToleranceLbPerAcre: toleranceLb,
    });
  }
  const rateOf = (zone: ReadTask["zones"][number] | undefined): number =>
    lbPerAcreOf(product, zone?.values[index]?.value ?? Number.NaN);
  const special = (code: number | undefined): number => rateOf(task.zones.find((zone) => zone.code === code));
  return checkPrescription(
    prescription,
    task.zones
      .filter(({shape}) => shape.length > 0)
      .map((zone) => ({id: zone.name, shape: zone.shape, rateLbPerAcre: rateOf(zone)})),
    {
      frame: field.frame,
      file,
      positionToleranceM: ROUNDING_M,
      rateToleranceLbPerAcre: toleranceLb,
      elsewhere: {
        outside: special(task.outOfFieldZone),
        lostPosition: special(task.positionLostZone),
        byDefault: special(task.defaultZone),
      },
    },
  );
}

/** One step of the format: 1 mg/m² of a dry product, 0.01 mm³/m² of a fluid, in lb/ac of product. */
function rateStep(product: Product): number {
  return lbPerAcreOf(product, product.lbPerGallon === undefined ? 0.01 : 0.0001);
}

function cellsOf(grid: ReadGrid, index: number, product: Product) {
  const layer = grid.layers[index];
  if (!layer) throw new Error("a grid we wrote has fewer values than products");
  const {west, north, cellWidth, cellHeight, cols, rows, values} = layer.raster;
  return {
    west,
    north,
    cellWidth,
    cellHeight,
    cols,
    rows,
    values: values.map((value) => lbPerAcreOf(product, value)),
  };
}
