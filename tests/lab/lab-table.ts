import type {Issue} from "../../src/errors.ts";
import type {LabMapping} from "../../src/lab/lab-mapping.ts";
import {type LabResults, readLab} from "../../src/lab/read-lab.ts";
import type {Table} from "../../src/table.ts";

/** A table written as a person would type it: cells parted by `|`, the header first. */
export function table(text: string): Table {
  const [header = [], ...rows] = text
    .split("\n")
    .filter((line) => line.includes("|"))
    .map((line) => line.split("|").map((cell) => cell.replace(/^ | $/g, "")));
  return {file: "lab.csv", header, rows, firstRow: 2};
}

/** 8 inches. */
export const DEPTH_M = 0.2032;

export const P_ICP = {analyte: "P", column: "P", unit: "ppm", method: "mehlich-3 icp"};
export const K_ICP = {analyte: "K", column: "K", unit: "ppm", method: "mehlich-3 icp"};

/** P and K by Mehlich-3 ICP in ppm, ids in "ID", 8 inches deep, unless told otherwise. */
export function mapping(more: Partial<LabMapping> = {}): LabMapping {
  return {sampleId: "ID", depthM: DEPTH_M, analytes: [P_ICP, K_ICP], ...more};
}

export function readTable(
  text: string,
  more: Partial<LabMapping> = {},
  options: {decimal?: "." | ","} = {},
): LabResults {
  return readLab(table(text), mapping(more), options);
}

/** `"A1 P 12"`, `"A2 K <30"`: every value of a result, in order. */
export function values({tests}: LabResults): string[] {
  return tests.map((test) => `${test.sampleId} ${test.analyte} ${test.qualifier ?? ""}${test.value}`);
}

export const codes = (issues: readonly Issue[]): string[] => issues.map(({code}) => code);
