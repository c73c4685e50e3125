import {cellCount, type Grid} from "../grid/grid.ts";
import {nearestCells} from "../grid/nearest-cell.ts";
import {seededRandom} from "../stats/random.ts";

/** Values with places, to try zone maps on: cells of a layer or points such as soil samples. */
export interface PlacedValues {
  readonly id: string;
  readonly label: string;
  readonly unit: string;
  /** Grid index of the cell each value is in. */
  readonly cells: Int32Array;
  /** No NaN. */
  readonly values: Float64Array;
}

/** What zone maps of the same kind laid anywhere over the field would explain. */
export interface NullComparison {
  readonly draws: number;
  /** Mean share of variance that a map laid by chance explains. */
  readonly mean: number;
  /** 95 of 100 maps laid by chance explain less. */
  readonly high: number;
  /** (1 + maps that explain as much or more) / (1 + draws). */
  readonly p: number;
}

/** A zone map slid over the field: so many rows and columns, on a pattern that goes on by mirror images. */
export interface Shift {
  readonly rows: number;
  readonly cols: number;
}

/**
 * Places to lay a zone map, drawn at random and kept for every map and layer of one judgement: what is compared is then
 * compared under the same chances.
 */
export function drawShifts({cols, rows}: Grid, draws: number, seed: number): Shift[] {
  const random = seededRandom(seed, "zones/shifts");
  return Array.from({length: draws}, () => ({rows: random.integer(2 * rows), cols: random.integer(2 * cols)}));
}

/**
 * Share of each evidence's variance that a zone map explains where it is, and where each shift lays it.
 *
 * The map is carried on past its own edge by mirror images, so that a slid map has zones of the same sizes and shapes, no
 * seam and no zone without ground. Nothing is drawn again: cells look up their label elsewhere.
 *
 * @param zones - Zone of each grid cell from 1; 0 is outside, and takes the zone of the nearest cell.
 * @returns `found[e]` for evidence e; `slid[e][s]` under shift s.
 *
 * Source: toroidal shifts of one of two patterns against the other are a standard test of independence (Lotwick and
 * Silverman 1982, J. R. Stat. Soc. B 44:406–413; for maps Besag and Clifford 1989 on p); mirror images instead of a torus
 * because fields do not wrap around. Checked by simulation, see docs/methods/judging-zones.md.
 */
export function explainedUnderShifts(
  grid: Grid,
  zones: Uint8Array,
  evidence: readonly PlacedValues[],
  shifts: readonly Shift[],
): {found: number[]; slid: Float64Array[]} {
  const source = nearestCells(grid, zones);
  const whole = Uint8Array.from(source, (cell) => zones[cell] as number);
  const count = whole.reduce((most, zone) => Math.max(most, zone), 0);
  const centred = evidence.map(centre);
  const found = centred.map((one) => explained(one, whole, count));
  const slid = evidence.map(() => new Float64Array(shifts.length));
  const moved = new Uint8Array(cellCount(grid));
  shifts.forEach((shift, s) => {
    slide(grid, whole, shift, moved);
    centred.forEach((one, e) => {
      (slid[e] as Float64Array)[s] = explained(one, moved, count);
    });
  });
  return {found, slid};
}

/** What shifts say of a share found. */
export function compareWithNull(found: number, slid: Float64Array): NullComparison {
  const sorted = Float64Array.from(slid).sort();
  let asMuch = 0;
  let sum = 0;
  for (const share of slid) {
    // A map slid to where it was explains the same but for the order of sums.
    if (share >= found - 1e-12) asMuch++;
    sum += share;
  }
  return {
    draws: slid.length,
    mean: sum / slid.length,
    high: sorted[Math.ceil(0.95 * slid.length) - 1] ?? Number.NaN,
    p: (1 + asMuch) / (1 + slid.length),
  };
}

interface Centred {
  readonly cells: Int32Array;
  readonly values: Float64Array;
  readonly squares: number;
}

function centre({cells, values}: PlacedValues): Centred {
  let mean = 0;
  for (const v of values) mean += v;
  mean /= values.length;
  const from = values.map((v) => v - mean);
  let squares = 0;
  for (const v of from) squares += v * v;
  return {cells, values: from, squares};
}

/** Sum of squares between zones over the whole, from the sums of deviations in each zone. */
function explained({cells, values, squares}: Centred, zones: Uint8Array, count: number): number {
  if (!(squares > 0)) return 0;
  const sums = new Float64Array(count + 1);
  const sizes = new Float64Array(count + 1);
  for (let i = 0; i < cells.length; i++) {
    const zone = zones[cells[i] as number] as number;
    sums[zone] = (sums[zone] as number) + (values[i] as number);
    sizes[zone] = (sizes[zone] as number) + 1;
  }
  let between = 0;
  for (let zone = 0; zone <= count; zone++) {
    if (sizes[zone]) between += (sums[zone] as number) ** 2 / (sizes[zone] as number);
  }
  return between / squares;
}

function slide({cols, rows}: Grid, zones: Uint8Array, shift: Shift, into: Uint8Array): void {
  const columnOf = Int32Array.from({length: cols}, (_, col) => mirrored(col + shift.cols, cols));
  for (let row = 0; row < rows; row++) {
    const from = mirrored(row + shift.rows, rows) * cols;
    for (let col = 0; col < cols; col++) into[row * cols + col] = zones[from + (columnOf[col] as number)] as number;
  }
}

/** 0 1 2 2 1 0 0 1 2 …: a row of cells and its mirror image in turn. */
function mirrored(index: number, length: number): number {
  const at = index % (2 * length);
  return at < length ? at : 2 * length - 1 - at;
}
