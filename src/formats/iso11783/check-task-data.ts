import type {Issue} from "../../errors.ts";
import type {FileSet} from "../file-set.ts";
import type {XmlElement} from "../xml.ts";
import {childrenOf} from "./attributes.ts";
import {type AttributeRule, ELEMENT_RULES} from "./element-rules.ts";
import {findTaskData, parseTaskData, type TaskFolder} from "./task-files.ts";

/**
 * Holds task data of rate maps against the rules they are written by, strictly: what a terminal may stumble over is
 * an error even where a lenient reader would take it.
 *
 * Covers what schemas cannot say: references that lead nowhere, special zones that do not exist, zones that set
 * different values, grid files of the wrong size. Elements outside rate maps (logs, machines, guidance) are errors.
 *
 * @returns Nothing for sound data.
 * @throws {FieldError} what `findTaskData` and `parseTaskData` refuse.
 */
export function checkTaskData(files: FileSet): Issue[] {
  const folder = findTaskData(files);
  const issues: Issue[] = [];
  const root = parseTaskData(folder, issues);
  const fail: Fail = (what, message) => issues.push({code: `iso11783/${what}`, severity: "error", message});
  for (const name of files.keys()) {
    if (name !== name.toUpperCase()) fail("file-name", `The name ${name} is not in capitals.`);
  }
  const elements: {element: XmlElement; path: string}[] = [];
  collect(root, root.name, elements);
  const ids = collectIds(elements, fail);
  for (const {element, path} of elements) checkElement(element, path, ids, fail);
  for (const task of childrenOf(root, "TSK")) checkTask(task, folder.get, fail);
  return issues;
}

type Fail = (what: string, message: string) => void;

function collect(element: XmlElement, path: string, into: {element: XmlElement; path: string}[]): void {
  into.push({element, path});
  for (const [i, child] of element.children.entries()) collect(child, `${path}/${child.name}[${i + 1}]`, into);
}

/** Ids and file names share one name space. */
function collectIds(elements: readonly {element: XmlElement; path: string}[], fail: Fail): Map<string, string> {
  const ids = new Map<string, string>();
  for (const {element, path} of elements) {
    const required = ELEMENT_RULES[element.name]?.required ?? {};
    const key = Object.keys(required).find((name) => required[name]?.is === "id" || required[name]?.is === "file");
    const id = key && element.attributes[key];
    if (!id) continue;
    if (ids.has(id)) fail("duplicate-id", `${path} has the id ${id} of another element.`);
    ids.set(id, element.name);
  }
  return ids;
}

function checkElement(element: XmlElement, path: string, ids: ReadonlyMap<string, string>, fail: Fail): void {
  const rule = ELEMENT_RULES[element.name];
  if (!rule) {
    fail("unknown-element", `${path} is no element of a rate map.`);
    return;
  }
  for (const name of Object.keys(rule.required)) {
    if (element.attributes[name] === undefined) fail("missing-attribute", `${path} lacks its attribute ${name}.`);
  }
  for (const [name, value] of Object.entries(element.attributes)) {
    const attribute = rule.required[name] ?? rule.optional?.[name];
    if (!attribute) fail("unknown-attribute", `${path} has an attribute ${name}, which it may not have.`);
    else if (!fits(value, attribute, element.name, ids)) fail(...misfit(path, name, value, attribute));
  }
  const allowed = rule.children ?? {};
  for (const name of new Set([...Object.keys(allowed), ...element.children.map((child) => child.name)])) {
    const [least, most] = allowed[name] ?? [0, 0];
    const count = childrenOf(element, name).length;
    if (count < least || count > most)
      fail("child-count", `${path} has ${count} ${name}; it may have ${least} to ${most}.`);
  }
}

function fits(value: string, rule: AttributeRule, tag: string, ids: ReadonlyMap<string, string>): boolean {
  switch (rule.is) {
    case "id":
      return value.length >= 4 && value.length <= 14 && new RegExp(`^${tag}[0-9]+$`).test(value);
    case "reference":
      return ids.get(value) === rule.to;
    case "text":
      return value.length > 0 && [...value].length <= 32;
    case "whole":
      return /^-?\d+$/.test(value) && Number(value) >= rule.least && Number(value) <= rule.most;
    case "decimal": {
      const places = /^-?\d+(?:\.(\d+))?$/.exec(value);
      if (!places || (places[1]?.length ?? 0) > (rule.places ?? 20)) return false;
      return Number(value) >= rule.least && Number(value) <= rule.most;
    }
    case "identifier":
      return /^[0-9A-F]{4}$/.test(value);
    case "one of":
      return rule.values.includes(value);
    case "file":
      return new RegExp(`^${tag}\\d{5}$`).test(value);
  }
}

function misfit(path: string, name: string, value: string, rule: AttributeRule): [string, string] {
  if (rule.is === "reference") {
    return ["dangling-reference", `${path} refers to ${value} in ${name}, which is no ${rule.to} of the file.`];
  }
  return [
    "bad-attribute",
    `${path} has "${value}" for ${name}, which is not ${rule.is === "text" ? "a text of 1 to 32 characters" : `a valid ${rule.is}`}.`,
  ];
}

function checkTask(task: XmlElement, get: TaskFolder["get"], fail: Fail): void {
  const id = task.attributes.A ?? "A task";
  const zones = childrenOf(task, "TZN");
  const codes = zones.map((zone) => zone.attributes.A);
  if (new Set(codes).size < codes.length) fail("duplicate-zone", `${id} has two zones with one code.`);
  for (const role of ["H", "I", "J"]) {
    const code = task.attributes[role];
    if (code !== undefined && !codes.includes(code))
      fail("missing-zone", `${id} names zone ${code} in ${role}, which it does not have.`);
  }
  const kinds = new Set(
    zones.map((zone) =>
      childrenOf(zone, "PDV")
        .map((v) => `${v.attributes.A} of ${v.attributes.C}`)
        .join(", "),
    ),
  );
  if (kinds.size > 1) fail("uneven-zones", `The zones of ${id} set different values: ${[...kinds].join(" / ")}.`);
  for (const polygon of zones.flatMap((zone) => childrenOf(zone, "PLN"))) checkRings(polygon, id, fail);
  for (const grid of childrenOf(task, "GRD")) checkGrid(grid, zones, id, get, fail);
}

function checkRings(polygon: XmlElement, task: string, fail: Fail): void {
  const lines = childrenOf(polygon, "LSG");
  if (lines.filter((line) => line.attributes.A === "1").length !== 1) {
    fail("bad-polygon", `A zone of ${task} has a polygon without exactly one outer ring.`);
  }
  for (const line of lines) {
    const points = childrenOf(line, "PNT").map(({attributes}) => `${attributes.C} ${attributes.D}`);
    if (points.length < 4 || points[0] !== points.at(-1))
      fail("bad-polygon", `A zone of ${task} has a ring that is open or too short.`);
  }
}

function checkGrid(
  grid: XmlElement,
  zones: readonly XmlElement[],
  task: string,
  get: TaskFolder["get"],
  fail: Fail,
): void {
  const {E, F, G, H, I, J} = grid.attributes;
  const file = `${G}.BIN`;
  const bytes = get(file);
  if (!bytes) {
    fail("missing-file", `The grid of ${task} is in ${file}, which is not there.`);
    return;
  }
  const model = zones.find((zone) => zone.attributes.A === J);
  if (I === "2" && !model)
    fail("missing-zone", `The grid of ${task} takes its values from zone ${J}, which is not there.`);
  const perCell = I === "2" ? 4 * (model ? childrenOf(model, "PDV").length : 0) : 1;
  const needed = Number(E) * Number(F) * perCell;
  if (bytes.length !== needed) fail("bad-grid", `${file} has ${bytes.length} bytes; its grid needs ${needed}.`);
  if (H !== undefined && Number(H) !== bytes.length)
    fail("bad-grid", `${file} has ${bytes.length} bytes; ${H} are stated.`);
  if (I === "1") {
    const codes = new Set(zones.map((zone) => Number(zone.attributes.A)));
    const unknown = bytes.find((code) => !codes.has(code));
    if (unknown !== undefined) fail("missing-zone", `${file} names zone ${unknown}, which ${task} does not have.`);
  }
}
