import {existsSync, readFileSync} from "node:fs";

/** A closed-form surface at cell centres, row 0 north, metres from the south-west corner. */
export function surface(
  z: (x: number, y: number) => number,
  {cols = 21, rows = 21, cell = 5}: {cols?: number; rows?: number; cell?: number} = {},
): Float64Array {
  return Float64Array.from({length: cols * rows}, (_, i) =>
    z(((i % cols) + 0.5) * cell, (rows - Math.floor(i / cols) - 0.5) * cell),
  );
}

/** Rolling ground of 60 × 60 cells of 5 m with depressions and no two equal heights side by side. */
export const wavy = surface(
  (x, y) => 120 + 3 * Math.sin(x / 37) + 2 * Math.cos(y / 23) + Math.sin((x + 2 * y) / 31) + 0.01 * x + 0.004 * y,
  {cols: 60, rows: 60},
);

const dem = new URL("../../../shared/data/reference/dem/", import.meta.url);
export const hasSharedTerrain = existsSync(dem);

/** A table of the shared reference data, row by row. */
export function sharedTable(name: string): {values: Float64Array; cols: number} {
  const rows = readFileSync(new URL(name, dem), "utf8").trim().split("\n");
  return {
    cols: (rows[0] as string).split(",").length,
    values: Float64Array.from(rows.flatMap((row) => row.split(",").map(Number))),
  };
}
