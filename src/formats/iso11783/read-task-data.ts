import {FieldError, type Issue} from "../../errors.ts";
import type {FileSet, Read} from "../file-set.ts";
import type {XmlElement} from "../xml.ts";
import {childrenOf, decimalOf, textOf, zoneCodeOf} from "./attributes.ts";
import {readGrid} from "./read-grid.ts";
import {readPolygons} from "./read-polygons.ts";
import {readZones} from "./read-zones.ts";
import {type Refer, references} from "./references.ts";
import type {DeviceElement, ReadField, ReadTask, ReadZone, TaskData} from "./task-data.ts";
import {findTaskData, parseTaskData, type TaskFolder} from "./task-files.ts";

const BOUNDARY = "1";

/**
 * ISO 11783-10 task data of editions 2 to 4, from an office or a machine.
 *
 * Lenient where files in use are loose: names in any case, makers' own attributes and elements, ids given by machines,
 * wrong stated file lengths, several outer rings in one polygon, more than one polygon in a zone. Whatever had to be
 * left out is said in an issue of severity "error". Rates come in kg/ha, L/ha and /m2, whatever unit the terminal shows.
 *
 * Not read: workers, guidance lines, comments, connections and totals. Time logs: `readTimeLog`.
 *
 * @throws {FieldError} `iso11783/version`, and what `findTaskData` and `parseTaskData` refuse.
 */
export function readTaskData(files: FileSet): Read<TaskData> {
  const folder = findTaskData(files);
  const issues: Issue[] = [];
  const root = parseTaskData(folder, issues);
  checkVersion(root);
  const refer = references(root, issues);
  const fields = childrenOf(root, "PFD").map((element) => readField(element, refer, issues));
  const tasks = childrenOf(root, "TSK").map((element) => readTask(element, refer, folder.get, issues));
  const origin = root.attributes.DataTransferOrigin;
  const value: TaskData = {
    version: `${root.attributes.VersionMajor}.${root.attributes.VersionMinor ?? "0"}`,
    software: [textOf(root, "ManagementSoftwareManufacturer"), textOf(root, "ManagementSoftwareVersion")]
      .filter((part) => part !== undefined)
      .join(" "),
    origin: origin === "1" ? "office" : origin === "2" ? "machine" : "unknown",
    fields,
    tasks,
    elements: readElements(root),
  };
  return {value, issues};
}

function checkVersion(root: XmlElement): void {
  const major = root.attributes.VersionMajor ?? "";
  if (/^[234]$/.test(major)) return;
  throw new FieldError("iso11783/version", `The task data is of edition "${major}"; editions 2 to 4 can be read.`, {
    hint: "Choose edition 3 or 4 where the file is exported.",
  });
}

function readField(element: XmlElement, refer: Refer, issues: Issue[]): ReadField {
  const id = textOf(element, "A") ?? "";
  const whose = `field ${textOf(element, "C") ?? id}`;
  const farm = refer(element, "F", "FRM", whose);
  const customer = refer(element, "E", "CTR", whose) ?? (farm && refer(farm, "I", "CTR", `Farm ${farm.attributes.A}`));
  const area = decimalOf(element, "D");
  const outlines = childrenOf(element, "PLN").filter((polygon) => polygon.attributes.A === BOUNDARY);
  return {
    id,
    name: textOf(element, "C") ?? id,
    ...(area !== undefined && area > 0 ? {statedAreaM2: area} : {}),
    ...(customer ? {customer: [textOf(customer, "C"), textOf(customer, "B")].filter(Boolean).join(" ")} : {}),
    ...(farm ? {farm: textOf(farm, "B") ?? ""} : {}),
    boundary: readPolygons(outlines, whose, issues),
  };
}

function readTask(element: XmlElement, refer: Refer, get: TaskFolder["get"], issues: Issue[]): ReadTask {
  const id = textOf(element, "A") ?? "";
  const whose = `Task ${id}`;
  const field = refer(element, "E", "PFD", whose);
  refer(element, "C", "CTR", whose);
  refer(element, "D", "FRM", whose);
  const zones = readZones(element, whose, refer, issues);
  const special = {
    ...specialZone(element, "H", "defaultZone", zones, whose, issues),
    ...specialZone(element, "I", "positionLostZone", zones, whose, issues),
    ...specialZone(element, "J", "outOfFieldZone", zones, whose, issues),
  };
  const grids = childrenOf(element, "GRD");
  if (grids.length > 1) {
    issues.push({
      code: "iso11783/bad-grid",
      severity: "error",
      message: `${whose} has ${grids.length} grids; only the first was read.`,
      hint: "Give each grid a task of its own.",
    });
  }
  const grid = grids[0] && readGrid(grids[0], zones, special.outOfFieldZone, get, whose, issues);
  return {
    id,
    name: textOf(element, "B") ?? id,
    ...(field ? {field: field.attributes.A as string} : {}),
    zones,
    ...special,
    ...(grid ? {grid} : {}),
    timeLogs: childrenOf(element, "TLG").flatMap((log) => textOf(log, "A") ?? []),
  };
}

type Special = "defaultZone" | "positionLostZone" | "outOfFieldZone";

function specialZone(
  task: XmlElement,
  attribute: string,
  key: Special,
  zones: readonly ReadZone[],
  whose: string,
  issues: Issue[],
): Partial<Record<Special, number>> {
  const code = zoneCodeOf(task, attribute);
  if (code === undefined) return {};
  if (!zones.some((zone) => zone.code === code)) {
    const role = {defaultZone: "its default", positionLostZone: "a lost position", outOfFieldZone: "out of field"}[key];
    issues.push({
      code: "iso11783/missing-zone",
      severity: "error",
      message: `${whose} names zone ${code} for ${role}, which it does not have.`,
      hint: "Export the task again where it was made.",
    });
  }
  return {[key]: code};
}

/** Parts of machines, for the names of what they logged. */
function readElements(root: XmlElement): DeviceElement[] {
  return childrenOf(root, "DVC").flatMap((device) =>
    childrenOf(device, "DET").map((element) => ({
      id: textOf(element, "A") ?? "",
      device: textOf(device, "B") ?? textOf(device, "A") ?? "",
      name: textOf(element, "D") ?? `element ${element.attributes.E ?? ""}`.trim(),
    })),
  );
}
