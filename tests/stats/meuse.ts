import {existsSync, readFileSync} from "node:fs";
import type {PointValues} from "../../src/stats/kriging.ts";

// The meuse samples and grid of the R package sp (155 topsoils, zinc in mg/kg, metres), where they are at hand.

const folder = new URL("../../../shared/data/soil_samples/", import.meta.url);
export const haveMeuse = existsSync(folder);

function columns(file: string): (name: string) => Float64Array {
  const [head = "", ...lines] = readFileSync(new URL(file, folder), "utf8").trim().split(/\r?\n/);
  const names = head.replaceAll('"', "").split(",");
  const rows = lines.map((line) => line.split(","));
  return (name) => Float64Array.from(rows, (row) => Number(row[names.indexOf(name)]));
}

/** Logarithms of zinc. */
export function meuse(): PointValues {
  const column = columns("meuse.csv");
  return {x: column("x"), y: column("y"), values: column("zinc").map(Math.log)};
}

/** Chosen cells of the grid, rows counted from 1 as in R; all of them without a choice. */
export function meuseGrid(...rows: number[]): {x: Float64Array; y: Float64Array} {
  const column = columns("meuse_grid.csv");
  const of = (all: Float64Array): Float64Array =>
    rows.length ? Float64Array.from(rows, (r) => all[r - 1] ?? Number.NaN) : all;
  return {x: of(column("x")), y: of(column("y"))};
}

/** Round numbers near the fitted ones, so that kriging is checked apart from fitting. */
export const FIXED = {shape: "spherical", nugget: 0.05, partialSill: 0.59, range: 897} as const;
