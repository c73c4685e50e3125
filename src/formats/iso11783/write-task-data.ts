import {FieldError, type Issue} from "../../errors.ts";
import type {LonLatPolygon} from "../../geo/shapes.ts";
import {formatNumber} from "../../units/format.ts";
import type {FileSet, Read} from "../file-set.ts";
import {type XmlElement, xml, xmlBytes} from "../xml.ts";
import {ddiText, type Presentation, rateItem, ratePresentation, rawRate} from "./data-dictionary.ts";
import {designator, designators} from "./designators.ts";
import {scaleText} from "./number-text.ts";
import type {TaskField, TaskPlan, TaskProduct, TaskZone} from "./task-data.ts";
import {gridDraft} from "./write-grid.ts";
import {areaText, POLYGON_TYPE, polygonElement} from "./write-polygon.ts";
import {FIRST_ZONE, ZONE_CODE, ZONE_ROOM, type ZoneDraft} from "./zone-codes.ts";

export interface WriteTaskDataOptions {
  /** Edition of the format: 4 (4.3, default) or 3 (3.3, for older terminals). */
  readonly version?: 3 | 4;
  /** Version of this program, at most 32 characters. */
  readonly softwareVersion: string;
}

const PLANNED = 1;

/**
 * Rate maps of one field as ISO 11783-10 task data: `TASKDATA/TASKDATA.XML` and a `.BIN` for each grid.
 *
 * Rates are set rates (DDI 0006, 0001, 000B) in whole mg/m2, 0.01 mm3/m2 and 0.001 /m2, so that a rate comes back
 * within 0.005 kg/ha, 0.00005 L/ha or 0.0005 seeds/m2. Coordinates have 9 decimals. Every zone, the special ones
 * included, sets a rate for every product of its task. Parts of a zone are zones of their own.
 *
 * Not a log of what was spread, and no machine is described: the operator matches products to bins on the terminal.
 *
 * @returns The same bytes for the same input; a remark for every name that had to be shortened or numbered.
 * @throws {FieldError} `iso11783/too-many-zones` (252 polygons in a task), `iso11783/bad-rate`, `iso11783/unit`,
 *   `iso11783/bad-polygon`, `iso11783/empty`, and what grids refuse (`gridDraft`).
 * Source: layout and units after the published XML schemas 3.3 and 4.3 and the public data dictionary; the text of the
 *   standard itself was not at hand. Checked against: an independent open reader of the format (tests).
 */
export function writeTaskData(
  field: TaskField,
  tasks: readonly TaskPlan[],
  options: WriteTaskDataOptions,
): Read<FileSet> {
  if (tasks.length === 0) {
    throw new FieldError("iso11783/empty", `There is no rate map to write for ${field.name}.`, {
      hint: "Make a prescription first.",
    });
  }
  const issues: Issue[] = [];
  const files = new Map<string, Uint8Array>();
  const products = productRows(tasks);
  const taskNames = named(
    tasks.map((task) => task.name),
    "Task",
    issues,
  );
  const taskElements = tasks.map((task, i) => {
    const gridName = `GRD${String(files.size + 1).padStart(5, "0")}`;
    const {element, grid} = taskElement(task, `TSK${i + 1}`, taskNames[i] as string, field, products, gridName, issues);
    if (grid) files.set(`TASKDATA/${gridName}.BIN`, grid);
    return element;
  });
  const root = xml(
    "ISO11783_TaskData",
    {
      VersionMajor: options.version ?? 4,
      VersionMinor: 3,
      ManagementSoftwareManufacturer: "Loamwright",
      ManagementSoftwareVersion: designator(options.softwareVersion, "0"),
      DataTransferOrigin: 1,
    },
    [...fieldElements(field, issues), ...productElements(products, issues), ...taskElements],
  );
  return {value: new Map([["TASKDATA/TASKDATA.XML", xmlBytes(root)], ...files]), issues};
}

/** Customer, farm and field, as far as they are known. */
function fieldElements(field: TaskField, issues: Issue[]): XmlElement[] {
  const customer = field.customer?.trim() ? "CTR1" : undefined;
  const farm = field.farm?.trim() ? "FRM1" : undefined;
  const only = (name: string, fallback: string): string => named([name], fallback, issues)[0] as string;
  return [
    ...(customer ? [xml("CTR", {A: customer, B: only(field.customer as string, "Customer")})] : []),
    ...(farm ? [xml("FRM", {A: farm, B: only(field.farm as string, "Farm"), I: customer})] : []),
    xml(
      "PFD",
      {A: "PFD1", C: only(field.name, "Field"), D: areaText(field.boundary), E: customer, F: farm},
      field.boundary.map((polygon) => polygonElement(polygon, POLYGON_TYPE.boundary, `The boundary of ${field.name}`)),
    ),
  ];
}

/** Products of all tasks, each once, with the presentation their rates are shown by. */
interface ProductRows {
  readonly products: readonly {readonly product: TaskProduct; readonly presentation: number}[];
  readonly presentations: readonly Presentation[];
}

function productRows(tasks: readonly TaskPlan[]): ProductRows {
  const products: {product: TaskProduct; presentation: number}[] = [];
  const presentations: Presentation[] = [];
  for (const product of tasks.flatMap((task) => task.products)) {
    if (products.some((row) => sameProduct(row.product, product))) continue;
    const shown = ratePresentation(product.kind, product.unit);
    let presentation = presentations.findIndex((known) => known.unit === shown.unit);
    if (presentation < 0) presentation = presentations.push(shown) - 1;
    products.push({product, presentation});
  }
  return {products, presentations};
}

function sameProduct(a: TaskProduct, b: TaskProduct): boolean {
  return a.name === b.name && a.kind === b.kind && a.unit === b.unit;
}

function productElements({products, presentations}: ProductRows, issues: Issue[]): XmlElement[] {
  const names = named(
    products.map((row) => row.product.name),
    "Product",
    issues,
  );
  return [
    ...names.map((name, i) => xml("PDT", {A: `PDT${i + 1}`, B: name})),
    ...presentations.map(({offset, scale, decimals, unit}, i) =>
      xml("VPN", {A: `VPN${i + 1}`, B: offset, C: scaleText(scale), D: decimals, E: unit}),
    ),
  ];
}

function taskElement(
  task: TaskPlan,
  id: string,
  name: string,
  field: TaskField,
  rows: ProductRows,
  gridName: string,
  issues: Issue[],
): {element: XmlElement; grid?: Uint8Array} {
  const raw = (rates: readonly number[], whose: string): number[] => rawRates(task.products, rates, whose);
  const special: ZoneDraft[] = [
    {code: ZONE_CODE.default, name: "Default", raw: raw(task.defaultRates, `The default zone of ${name}`)},
    {
      code: ZONE_CODE.outOfField,
      name: "Out of field",
      raw: raw(task.outOfFieldRates, `Ground outside the field in ${name}`),
    },
    {
      code: ZONE_CODE.positionLost,
      name: "Position lost",
      raw: raw(task.positionLostRates, `The zone of ${name} for a lost position`),
    },
  ];
  const grid =
    "grid" in task.map
      ? gridDraft(task.map.grid, task.products, (special[1] as ZoneDraft).raw, gridName, name)
      : undefined;
  const zones = "zones" in task.map ? polygonZones(task.map.zones, task, name, issues) : (grid?.zones ?? []);
  if (grid) issues.push(...grid.issues);
  const element = xml(
    "TSK",
    {
      A: id,
      B: name,
      C: field.customer?.trim() ? "CTR1" : undefined,
      D: field.farm?.trim() ? "FRM1" : undefined,
      E: "PFD1",
      G: PLANNED,
      H: ZONE_CODE.default,
      I: ZONE_CODE.positionLost,
      J: ZONE_CODE.outOfField,
    },
    [...[...special, ...zones].map((zone) => zoneElement(zone, task.products, rows)), ...(grid ? [grid.element] : [])],
  );
  return grid ? {element, grid: grid.bytes} : {element};
}

interface PolygonZone extends ZoneDraft {
  readonly polygon: LonLatPolygon;
}

/** One zone for each part, numbered in the order given. */
function polygonZones(zones: readonly TaskZone[], task: TaskPlan, taskName: string, issues: Issue[]): PolygonZone[] {
  const parts = zones.flatMap((zone) =>
    zone.shape.map((polygon, i) => ({zone, polygon, name: i === 0 ? zone.name : `${zone.name} ${i + 1}`})),
  );
  if (parts.length === 0) {
    throw new FieldError("iso11783/empty", `${taskName} has no zones.`, {hint: "Make a prescription first."});
  }
  if (parts.length > ZONE_ROOM) {
    throw new FieldError(
      "iso11783/too-many-zones",
      `${taskName} has ${formatNumber(parts.length)} polygons; ISO 11783-10 has codes for ${ZONE_ROOM} of them in a task.`,
      {hint: "Write it as a grid of type 2, or merge neighbours with the same rate and zones too small to spread."},
    );
  }
  const names = named(
    parts.map((part) => part.name),
    "Zone",
    issues,
  );
  return parts.map(({zone, polygon}, i) => ({
    code: FIRST_ZONE + i,
    name: names[i] as string,
    raw: rawRates(task.products, zone.rates, zone.name),
    polygon,
  }));
}

function rawRates(products: readonly TaskProduct[], rates: readonly number[], whose: string): number[] {
  if (rates.length !== products.length) throw new Error(`${whose}: one rate for each product`);
  return products.map((product, i) => rawRate(product.kind, rates[i] as number, whose));
}

function zoneElement(zone: ZoneDraft | PolygonZone, products: readonly TaskProduct[], rows: ProductRows): XmlElement {
  const values = products.map((product, i) => {
    const index = rows.products.findIndex((row) => sameProduct(row.product, product));
    return xml("PDV", {
      A: ddiText(rateItem(product.kind).ddi),
      B: zone.raw[i],
      C: `PDT${index + 1}`,
      E: `VPN${(rows.products[index]?.presentation as number) + 1}`,
    });
  });
  const polygon = "polygon" in zone ? [polygonElement(zone.polygon, POLYGON_TYPE.treatmentZone, zone.name)] : [];
  return xml("TZN", {A: zone.code, B: zone.name}, [...polygon, ...values]);
}

/** Names fit for a terminal, with a remark on those that had to change. */
function named(names: readonly string[], fallback: string, issues: Issue[]): string[] {
  const short = designators(names, fallback);
  const changed = names.flatMap((name, i) => (name.trim() === short[i] ? [] : [`"${name}" to "${short[i]}"`]));
  if (changed.length > 0) {
    const shown = changed.slice(0, 3).join(", ");
    issues.push({
      code: "iso11783/name-changed",
      severity: "note",
      message: `Names were changed to be unique in 32 characters: ${shown}${changed.length > 3 ? ` and ${changed.length - 3} more` : ""}.`,
      hint: "Shorten them if the terminal should show other words.",
    });
  }
  return short;
}
