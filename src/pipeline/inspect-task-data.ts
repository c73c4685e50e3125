import type {Issue} from "../errors.ts";
import type {FileSet} from "../formats/file-set.ts";
import {checkTaskData} from "../formats/iso11783/check-task-data.ts";
import {dataItem} from "../formats/iso11783/data-dictionary.ts";
import type {GridLayer, ReadTask, TaskData} from "../formats/iso11783/task-data.ts";
import {taskLayers, usValue} from "../formats/iso11783/task-layers.ts";
import {geodesicAreaM2} from "../geo/geodesic.ts";
import {insideTest} from "../geo/inside.ts";
import type {LonLatMultiPolygon} from "../geo/shapes.ts";
import {rowCellAreasM2} from "../grid/degree-cells.ts";
import {many} from "../prescription/count-words.ts";
import {SQUARE_METRES_PER_ACRE} from "../units/factors.ts";
import {formatArea, formatNumber, formatShort} from "../units/format.ts";
import type {FileFindings} from "./inspect-file.ts";
import {inspectShapes, massDoubts, remarkLines, type ShapesOptions} from "./inspect-shapes.ts";
import {readTasks, taskFiles} from "./read-inputs.ts";

/**
 * What task data of ISO 11783-10 holds: fields, and for each task its zones or its grid as a prescription.
 *
 * Rules a strict terminal may hold the file to are checked besides; what breaks them is a warning.
 *
 * @throws {FieldError} what the reader refuses.
 */
export function inspectTaskData(files: FileSet, name: string, options: ShapesOptions): FileFindings {
  const {value: data, issues: found} = readTasks(files, name);
  const own: Issue[] = [...found];
  const ofTasks: Issue[] = [];
  const lines = [
    `task data (ISO 11783-10) of edition ${data.version}, by ${data.software || "a program that does not say"}`,
    `${many(data.fields.length, "field")}, ${many(data.tasks.length, "task")}`,
  ];
  const facts: Record<string, unknown> = {version: data.version, software: data.software};
  const tasks: unknown[] = [];
  for (const {name: field, boundary, statedAreaM2} of data.fields) {
    const area = boundary.length > 0 ? formatArea(geodesicAreaM2(boundary)) : "no boundary";
    lines.push(`field ${field}: ${area}${statedAreaM2 === undefined ? "" : `, ${formatArea(statedAreaM2)} stated`}`);
  }
  for (const task of data.tasks) {
    const {findings, outside} = inspectTask(name, task, data, options);
    ofTasks.push(...(findings?.issues ?? []));
    own.push(...outside.issues);
    lines.push(`task ${task.name}: ${mapOf(task)}`, ...(findings?.lines ?? []).map((line) => `  ${line}`));
    tasks.push({name: task.name, ...findings?.facts});
  }
  if (data.tasks.length === 0) own.push(nothingToSpread(name));
  own.push(...strictly(files, name, found));
  return {
    kind: "task data",
    lines: [...lines, ...remarkLines(own)],
    facts: {...facts, tasks},
    issues: [...own, ...ofTasks],
  };
}

function inspectTask(
  file: string,
  task: ReadTask,
  data: TaskData,
  options: ShapesOptions,
): {findings?: FileFindings; outside: {text?: string; issues: Issue[]}} {
  const outside = outsideOf(task);
  const layer = taskLayers({...data, fields: [], tasks: [task]})[0];
  if (layer) {
    const findings = inspectShapes(file, layer, [], {...options, units: layer.units, outside: outside.text});
    return {findings, outside};
  }
  const boundary = options.field?.boundary ?? data.fields.find(({id}) => id === task.field)?.boundary ?? [];
  if (task.grid) return {findings: inspectGrid(task, boundary, outside.text), outside};
  return {outside: {issues: []}};
}

function mapOf({grid, zones, timeLogs}: ReadTask): string {
  if (grid) return `a grid of type ${grid.type}, ${grid.cols} × ${grid.rows} cells`;
  const shaped = zones.filter(({shape}) => shape.length > 0).length;
  if (shaped > 0) return many(shaped, "zone");
  return timeLogs.length > 0 ? many(timeLogs.length, "time log") : "no rate map";
}

/** Rates for where the map says nothing, and a warning where the task leaves that to the terminal. */
function outsideOf(task: ReadTask): {text?: string; issues: Issue[]} {
  if (!task.grid && task.zones.length === 0) return {issues: []};
  const said = (code: number | undefined): string | undefined => {
    const values = task.zones.find((zone) => zone.code === code)?.values.map(usValue) ?? [];
    if (code === undefined || values.length === 0) return undefined;
    return values.map(({value, unit}) => `${formatShort(value, 1)} ${unit}`).join(" and ");
  };
  const outside = said(task.outOfFieldZone);
  const lost = said(task.positionLostZone);
  const text = `${outside ?? "no rate"}; without a position: ${lost ?? "no rate"}; before the map: ${said(task.defaultZone) ?? "no rate"}`;
  if (outside !== undefined && lost !== undefined) return {text, issues: []};
  return {
    text,
    issues: [
      {
        code: "iso11783/no-outside-rate",
        severity: "warning",
        message: `${task.name} sets no rate ${outside === undefined ? "outside the map" : "for a lost position"}: what is spread there is up to the terminal.`,
        hint: "Set it on the terminal, or write the task with zones for both.",
      },
    ],
  };
}

/** Cells as a prescription: a rate for every cell, weighted by the cell's ground. */
function inspectGrid({grid, name}: ReadTask, boundary: LonLatMultiPolygon, outside: string | undefined): FileFindings {
  const layers = (grid?.layers ?? []).map((layer) => layerFacts(layer, boundary));
  const issues = layers.flatMap(({column, most, unit}) => massDoubts(column, most, unit));
  const lines = layers.map(
    ({column, least, mean, most, total, cells, empty, acres, amount, within}) =>
      `rate ${column}: ${formatNumber(least, 1)} to ${formatNumber(most, 1)}, mean ${formatNumber(mean, 1)}, total ${formatNumber(total, 1)} ${amount} on ${many(cells, "cell")} (${formatNumber(acres, 1)} ac)${within === undefined ? "" : `, ${formatNumber(within, 1)} ${amount} within the boundary`}${empty > 0 ? `, ${formatNumber(empty)} outside` : ""}`,
  );
  lines.push(`outside the cells: ${outside ?? "no rate"}`);
  return {kind: "grid", lines: [...lines, ...remarkLines(issues)], facts: {grid: name, layers}, issues};
}

function layerFacts({raster, product, ddi}: GridLayer, boundary: LonLatMultiPolygon) {
  const shareWithin = shareOfCells(raster, boundary);
  const areas = rowCellAreasM2(raster);
  const us = usValue({value: 1, unit: raster.unit ?? "", ddi, raw: 0, ...(product === undefined ? {} : {product})});
  let [least, most, total, acres, cells, empty, within] = [Infinity, -Infinity, 0, 0, 0, 0, 0];
  for (let row = 0; row < raster.rows; row++) {
    const cellAcres = (areas[row] as number) / SQUARE_METRES_PER_ACRE;
    for (let col = 0; col < raster.cols; col++) {
      const rate = (raster.values[row * raster.cols + col] as number) * us.value;
      if (Number.isNaN(rate)) empty++;
      else {
        cells++;
        least = Math.min(least, rate);
        most = Math.max(most, rate);
        total += rate * cellAcres;
        within += rate * cellAcres * (shareWithin?.(row, col) ?? 0);
        acres += cellAcres;
      }
    }
  }
  const column = `${product ?? dataItem(ddi).name} (${us.unit})`;
  const amount = us.unit.split("/")[0] ?? "";
  const inside = shareWithin ? {within} : {};
  return {column, unit: us.unit, amount, least, most, mean: total / acres, total, acres, cells, empty, ...inside};
}

/** Points along a side of a cell that are asked whether they lie in the field; one in grids of very many cells. */
const POINTS = 4;
const MANY_CELLS = 250_000;

/** How much of a cell lies within a boundary, 0 to 1; undefined without one. Cells along it reach beyond the field. */
function shareOfCells(
  {west, north, cellWidth, cellHeight, cols, rows}: GridLayer["raster"],
  boundary: LonLatMultiPolygon,
): ((row: number, col: number) => number) | undefined {
  if (boundary.length === 0) return undefined;
  const inside = insideTest(
    boundary.map((polygon) =>
      polygon.map((ring) => ring.map(([lon, lat]) => ({x: (lon - west) / cellWidth, y: (north - lat) / cellHeight}))),
    ),
  );
  const points = cols * rows > MANY_CELLS ? 1 : POINTS;
  return (row, col) => {
    let count = 0;
    for (let i = 0; i < points ** 2; i++) {
      if (inside(col + ((i % points) + 0.5) / points, row + (Math.floor(i / points) + 0.5) / points)) count++;
    }
    return count / points ** 2;
  };
}

function nothingToSpread(file: string): Issue {
  return {
    code: "iso11783/no-task",
    severity: "note",
    message: `${file} holds no task.`,
    hint: "It carries fields only, not rates.",
  };
}

const MOST_FAULTS = 5;
/** Elements and attributes beside rate maps (machines, logs, makers' own) are no faults of one. */
const BESIDE = /unknown-(element|attribute)$/;

/** What a strict terminal may refuse, where the lenient reader has not said it already. */
function strictly(files: FileSet, name: string, found: readonly Issue[]): Issue[] {
  const faults = checkTaskData(taskFiles(files, name)).filter(({code}) => !BESIDE.test(code));
  const said = new Set(found.map(({code}) => code));
  const news = faults.filter(({code}) => !said.has(code));
  const shown = news.slice(0, MOST_FAULTS).map((fault): Issue => ({...fault, severity: "warning"}));
  if (news.length > MOST_FAULTS) {
    shown.push({
      code: "iso11783/more-faults",
      severity: "warning",
      message: `${news.length - MOST_FAULTS} more departures from the format.`,
    });
  }
  return shown;
}
