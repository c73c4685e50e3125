import type {TaskField, TaskGrid, TaskPlan, TaskProduct, TaskZone} from "../../../src/formats/iso11783/task-data.ts";
import {writeTaskData} from "../../../src/formats/iso11783/write-task-data.ts";
import {encodeUtf8} from "../../../src/formats/text.ts";
import type {LonLatPolygon} from "../../../src/geo/shapes.ts";
import {KG_PER_HA_PER_LB_PER_ACRE} from "../../../src/units/factors.ts";

/** lb/ac to the kg/ha rates are kept in. */
export const lb = (perAcre: number): number => perAcre * KG_PER_HA_PER_LB_PER_ACRE;

/** A closed, counter-clockwise box in degrees. */
export function box(west: number, south: number, east: number, north: number): LonLatPolygon {
  return [
    [
      [west, south],
      [east, south],
      [east, north],
      [west, north],
      [west, south],
    ],
  ];
}

export const map: TaskProduct = {name: "MAP 11-52-0", kind: "mass", unit: "lb/ac"};
export const water: TaskProduct = {name: "Starter", kind: "volume", unit: "gal/ac"};

export const field: TaskField = {
  name: "North 40",
  customer: "Grower One",
  farm: "Home Farm",
  boundary: [box(-93, 42, -92.99, 42.01)],
};

export function zone(name: string, rates: readonly number[], ...polygons: LonLatPolygon[]): TaskZone {
  return {name, shape: polygons, rates};
}

/** Two zones, 200 and 150 lb/ac, of one product. */
export function twoZones(): TaskPlan {
  return planOf([map], {
    zones: [
      zone("Low P", [lb(200)], box(-93, 42, -92.995, 42.01)),
      zone("High P", [lb(150)], box(-92.995, 42, -92.99, 42.01)),
    ],
  });
}

/** A plan that spreads nothing where the map says nothing. */
export function planOf(products: readonly TaskProduct[], what: TaskPlan["map"]): TaskPlan {
  const none = products.map(() => 0);
  return {name: "Broadcast", products, map: what, defaultRates: none, positionLostRates: none, outOfFieldRates: none};
}

/** A grid of lb/ac as it looks on a map: the first row is the northern one, NaN is outside. */
export function grid(type: 1 | 2, ...rowsFromNorth: number[][]): TaskGrid {
  return {
    west: -93,
    north: 42 + rowsFromNorth.length * 0.0001,
    cellWidth: 0.00012,
    cellHeight: 0.0001,
    cols: rowsFromNorth[0]?.length ?? 0,
    rows: rowsFromNorth.length,
    rates: [Float64Array.from(rowsFromNorth.flat(), lb)],
    type,
  };
}

export const options = {softwareVersion: "0.1.0"};

/** The XML and the file set of written task data. */
export function written(...plans: TaskPlan[]): {xml: string; files: Map<string, Uint8Array>} {
  const files = new Map(writeTaskData(field, plans, options).value);
  return {xml: xmlOf(files), files};
}

export function xmlOf(files: ReadonlyMap<string, Uint8Array>): string {
  return new TextDecoder().decode(files.get("TASKDATA/TASKDATA.XML"));
}

/** Task data from what stands inside the root element. */
export function taskData(inside: string, more: Readonly<Record<string, Uint8Array>> = {}): Map<string, Uint8Array> {
  const root =
    '<ISO11783_TaskData VersionMajor="4" VersionMinor="3" ManagementSoftwareManufacturer="Office"' +
    ` ManagementSoftwareVersion="1" DataTransferOrigin="1">${inside}</ISO11783_TaskData>`;
  return new Map([
    ["TASKDATA/TASKDATA.XML", encodeUtf8(`<?xml version="1.0" encoding="UTF-8"?>${root}`)],
    ...Object.entries(more),
  ]);
}

export function bytes(hex: string): Uint8Array {
  return Uint8Array.from(hex.trim().split(/\s+/), (byte) => Number.parseInt(byte, 16));
}

export function hex(data: Uint8Array | undefined): string {
  return [...(data ?? [])].map((byte) => byte.toString(16).padStart(2, "0")).join(" ");
}
