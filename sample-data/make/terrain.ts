import {boxOf} from "../../src/geo/measure.ts";
import {cellCount, centreX, centreY, type Grid, gridOver} from "../../src/grid/grid.ts";
import {patchStrength, type SampleField, type Swale} from "./farm.ts";
import {ramp, type Surface, smoothNoise} from "./noise.ts";

export interface Terrain {
  /** Bare ground without furrows, metres above sea level. */
  readonly heightAt: Surface;
  /** How low the ground lies against its surroundings: about -2 on knolls, 0 on flats, over 2 in hollows. */
  readonly lownessAt: Surface;
  /** How much the last ponded water leaves standing in a wet year, 0 to 1. */
  readonly pondAt: Surface;
}

const MARGIN_M = 260;
const CELL_M = 5;
/** Swales closer than this in height melt into one floor, metres. */
const BLEND_M = 0.12;

/** Swell and swale of a till plain: uplands rise away from the lines water follows, knolls and closed hollows on top. */
export function terrainOf(field: SampleField): Terrain {
  const grid = gridOver(field.frame, boxOf(field.outline), CELL_M, MARGIN_M);
  const drawn = heightsOf(field);
  const sketch = new Float64Array(cellCount(grid));
  const damp = new Float64Array(cellCount(grid));
  for (let i = 0; i < sketch.length; i++) {
    const x = centreX(grid, i % grid.cols);
    const y = centreY(grid, Math.floor(i / grid.cols));
    sketch[i] = drawn(x, y);
    damp[i] = 1 - nearestFloors(field, x, y).away;
  }
  // Ten thousand years of frost and ploughs have left no creases.
  const heights = blurred(grid, sketch, 9);
  const near = blurred(grid, heights, 50);
  const far = blurred(grid, heights, 130);
  // Ground beside a swale stays damp even where the swale is hardly cut in.
  const lowness = heights.map(
    (h, i) => ((near[i] as number) - h) / 0.36 + ((far[i] as number) - h) / 1.1 + 1.1 * (damp[i] as number),
  );
  return {
    heightAt: (x, y) => smoothlySampled(grid, heights, x, y),
    lownessAt: (x, y) => smoothlySampled(grid, lowness, x, y),
    pondAt: (x, y) => ramp(patchStrength(field.hollows, x, y), 0.55, 0.78),
  };
}

function heightsOf(field: SampleField): Surface {
  const broad = smoothNoise(field.seed, "terrain/broad", 420);
  const middle = smoothNoise(field.seed, "terrain/middle", 170);
  const fine = smoothNoise(field.seed, "terrain/fine", 60);
  return (x, y) => {
    const {floorM, away} = nearestFloors(field, x, y);
    // Water smooths the floors it follows; uplands keep their roughness.
    const rough = 0.42 * broad(x, y) + 0.22 * middle(x, y) + 0.05 * fine(x, y);
    const knolls = patchStrength(field.knolls, x, y);
    const hollows = patchStrength(field.hollows, x, y);
    return floorM + away * rough + (0.3 + 0.7 * away) * knolls - 0.75 * hollows;
  };
}

/** Height above the swales, as a smooth minimum over all their stretches, and 0 to 1 how far from a floor. */
function nearestFloors(field: SampleField, x: number, y: number): {floorM: number; away: number} {
  const {heightM, widthM} = field.rise;
  const candidates: number[] = [];
  let nearest = Infinity;
  for (const swale of field.swales) {
    for (let i = 0; i + 1 < swale.length; i++) {
      const {distance, floorM} = fromStretch(swale, i, x, y);
      nearest = Math.min(nearest, distance);
      candidates.push(floorM + heightM * (1 - Math.exp(-((distance / widthM) ** 2))) + 0.0006 * distance);
    }
  }
  const lowest = Math.min(...candidates);
  let sum = 0;
  for (const height of candidates) sum += Math.exp((lowest - height) / BLEND_M);
  return {floorM: lowest - BLEND_M * Math.log(sum), away: 1 - Math.exp(-((nearest / 52) ** 2))};
}

function fromStretch(swale: Swale, i: number, x: number, y: number): {distance: number; floorM: number} {
  const [ax, ay, az] = swale[i] as Swale[number];
  const [bx, by, bz] = swale[i + 1] as Swale[number];
  const length2 = (bx - ax) ** 2 + (by - ay) ** 2;
  const t = Math.max(0, Math.min(1, ((x - ax) * (bx - ax) + (y - ay) * (by - ay)) / length2));
  return {distance: Math.hypot(x - ax - t * (bx - ax), y - ay - t * (by - ay)), floorM: az + t * (bz - az)};
}

/** Gaussian mean, rows then columns; the edge repeats its last value. */
function blurred(grid: Grid, values: Float64Array, sigmaM: number): Float64Array {
  const reach = Math.ceil((2.5 * sigmaM) / grid.cellSize);
  const weights = Float64Array.from({length: 2 * reach + 1}, (_, k) =>
    Math.exp(-0.5 * (((k - reach) * grid.cellSize) / sigmaM) ** 2),
  );
  const total = weights.reduce((sum, w) => sum + w, 0);
  const pass = (from: Float64Array, step: number, count: number, startOf: (line: number) => number, lines: number) => {
    const to = new Float64Array(from.length);
    for (let line = 0; line < lines; line++) {
      const start = startOf(line);
      for (let i = 0; i < count; i++) {
        let sum = 0;
        for (let k = -reach; k <= reach; k++) {
          const at = Math.max(0, Math.min(count - 1, i + k));
          sum += (weights[k + reach] as number) * (from[start + at * step] as number);
        }
        to[start + i * step] = sum / total;
      }
    }
    return to;
  };
  const acrossRows = pass(values, 1, grid.cols, (row) => row * grid.cols, grid.rows);
  return pass(acrossRows, grid.cols, grid.rows, (col) => col, grid.cols);
}

/** Uniform cubic B-spline over cell centres: no creases; the edge repeats its last value. */
function smoothlySampled(grid: Grid, values: Float64Array, x: number, y: number): number {
  const col = (x - grid.west) / grid.cellSize - 0.5;
  const row = (grid.north - y) / grid.cellSize - 0.5;
  const c = Math.floor(col);
  const r = Math.floor(row);
  const across = splineWeights(col - c);
  const down = splineWeights(row - r);
  let sum = 0;
  for (let j = 0; j < 4; j++) {
    const line = Math.max(0, Math.min(grid.rows - 1, r + j - 1)) * grid.cols;
    for (let i = 0; i < 4; i++) {
      const at = line + Math.max(0, Math.min(grid.cols - 1, c + i - 1));
      sum += (down[j] as number) * (across[i] as number) * (values[at] as number);
    }
  }
  return sum;
}

function splineWeights(t: number): readonly number[] {
  const u = 1 - t;
  return [u ** 3 / 6, (3 * t ** 3 - 6 * t ** 2 + 4) / 6, (3 * u ** 3 - 6 * u ** 2 + 4) / 6, t ** 3 / 6];
}
