import {loadGeos} from "../../src/geo/geos.ts";
import type {MultiPolygon, XY} from "../../src/geo/shapes.ts";
import {blurCells} from "../../src/grid/blur-cells.ts";
import type {Grid} from "../../src/grid/grid.ts";
import {maskOf} from "../../src/grid/rasterize.ts";
import {anova} from "../../src/stats/anova.ts";
import {type Random, seededRandom} from "../../src/stats/random.ts";
import {compareWithNull, drawShifts, explainedUnderShifts, type PlacedValues} from "../../src/zones/spatial-null.ts";
import {fieldFrom} from "../zones/fields.ts";

// How often zones are found to explain a layer that has nothing to do with them: by an analysis of variance and by maps
// laid by chance, on fields of several shapes. Prints Markdown: npx tsx tests/bench/judge-null.ts [runs]

const RUNS = Number(process.argv[2] ?? 300);
const DRAWS = 99;
const SAMPLES = 60;
const CELL_M = 8;
const SHAPES: Record<string, MultiPolygon> = {
  square: outline([0, 0], [800, 0], [800, 800], [0, 800]),
  triangle: outline([0, 0], [800, 0], [0, 800]),
  "L of three tenths": outline([0, 0], [800, 0], [800, 300], [300, 300], [300, 800], [0, 800]),
};
/** Sigma of the bell that smooths the layers, metres. */
const REACHES = [32, 64, 112];
/** 5 % of F with 2 and very many degrees of freedom, and with 2 and 57: printed tables. */
const F_CELLS = 2.996;
const F_SAMPLES = 3.159;

await loadGeos();
print(`${RUNS} runs each, three zones, ${DRAWS} maps by chance, wrongly found at 5 %:\n`);
print("| field | reach, m | F on all cells | F on 60 samples | chance, all cells | chance, 60 samples |");
print("| --- | --- | --- | --- | --- | --- |");
for (const [name, shape] of Object.entries(SHAPES)) for (const reach of REACHES) print(rowFor(name, shape, reach));

function rowFor(name: string, shape: MultiPolygon, reachM: number): string {
  const {field, grid} = fieldFrom(shape, CELL_M);
  const mask = maskOf(grid, field.outline);
  const cells = Int32Array.from(mask.keys()).filter((cell) => mask[cell] === 1);
  const wrong = [0, 0, 0, 0];
  for (let run = 0; run < RUNS; run++) {
    const random = seededRandom(run, `${name} ${reachM}`);
    const zones = thirds(smooth(grid, reachM, random), mask, cells);
    const other = smooth(grid, reachM, random).map((v) => v + 0.5 * random.normal());
    const all = placed(cells, other);
    const some = placed(
      Int32Array.from({length: SAMPLES}, () => cells[random.integer(cells.length)] as number),
      other,
    );
    const {found, slid} = explainedUnderShifts(grid, zones, [all, some], drawShifts(grid, DRAWS, run));
    const p = found.map((share, i) => compareWithNull(share, slid[i] as Float64Array).p);
    const isWrong = [
      fOf(all, zones) > F_CELLS,
      fOf(some, zones) > F_SAMPLES,
      (p[0] as number) <= 0.05,
      (p[1] as number) <= 0.05,
    ];
    isWrong.forEach((is, i) => {
      if (is) wrong[i] = (wrong[i] as number) + 1;
    });
  }
  const share = (count: number): string => `${((100 * count) / RUNS).toFixed(1)} %`;
  return `| ${[name, String(reachM), ...wrong.map(share)].join(" | ")} |`;
}

function placed(cells: Int32Array, values: Float64Array): PlacedValues {
  return {id: "", label: "", unit: "", cells, values: Float64Array.from(cells, (cell) => values[cell] as number)};
}

function fOf({cells, values}: PlacedValues, zones: Uint8Array): number {
  return anova(
    values,
    Int32Array.from(cells, (cell) => (zones[cell] as number) - 1),
  ).f;
}

function thirds(values: Float64Array, mask: Uint8Array, cells: Int32Array): Uint8Array {
  const sorted = Float64Array.from(cells, (cell) => values[cell] as number).sort();
  const low = sorted[Math.floor(sorted.length / 3)] as number;
  const high = sorted[Math.floor((2 * sorted.length) / 3)] as number;
  return mask.map((inside, cell) => {
    const v = values[cell] as number;
    return inside ? (v < low ? 1 : v < high ? 2 : 3) : 0;
  });
}

/** Noise under a bell with variance 1, cut out of a wider plane so that it does not wrap around. */
function smooth(grid: Grid, reachM: number, random: Random): Float64Array {
  const margin = Math.ceil((3 * reachM) / grid.cellSize);
  const wide: Grid = {...grid, cols: grid.cols + 2 * margin, rows: grid.rows + 2 * margin};
  const raw = Float64Array.from({length: wide.cols * wide.rows}, () => random.normal());
  const blurred = blurCells(wide, raw, reachM);
  const cut = Float64Array.from({length: grid.cols * grid.rows}, (_, i) => {
    const [row, col] = [Math.floor(i / grid.cols) + margin, (i % grid.cols) + margin];
    return blurred[row * wide.cols + col] as number;
  });
  const mean = cut.reduce((sum, v) => sum + v, 0) / cut.length;
  const sd = Math.sqrt(cut.reduce((sum, v) => sum + (v - mean) ** 2, 0) / cut.length);
  return cut.map((v) => (v - mean) / sd);
}

function outline(...corners: [number, number][]): MultiPolygon {
  const points = corners.map(([x, y]): XY => ({x, y}));
  return [[[...points, points[0] as XY]]];
}

function print(line: string): void {
  process.stdout.write(`${line}\n`);
}
