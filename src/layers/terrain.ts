import {FieldError, type Issue} from "../errors.ts";
import {coveragePct, within} from "../grid/coverage.ts";
import {centreX, centreY, type Grid} from "../grid/grid.ts";
import type {Layer} from "../grid/layer.ts";
import {cropTo, widenGrid} from "../grid/margin.ts";
import type {Pond} from "../grid/ponding.ts";
import type {Raster} from "../grid/raster.ts";
import {resampleRaster} from "../grid/resample.ts";
import {smoothValues} from "../grid/smooth.ts";
import {formatNumber} from "../units/format.ts";
import {coverIssues} from "./raster-layer.ts";
import {derive} from "./terrain/derive.ts";
import {flowDoubts, heightDoubts, marginDoubts} from "./terrain/doubts.ts";
import {TERRAIN, type TerrainKind, type TerrainName} from "./terrain/names.ts";
import {type SettledTerrain, settleTerrain, type TerrainOptions} from "./terrain/options.ts";

/** A depression that holds water within the field. */
export interface FieldPond {
  /** The deepest place, metres in the field's frame. */
  readonly x: number;
  readonly y: number;
  readonly levelM: number;
  readonly depthM: number;
  /** The whole pond, and the part of it in the field. */
  readonly areaM2: number;
  readonly insideM2: number;
  /** Water it holds before it spills: what drains have to take away. */
  readonly volumeM3: number;
}

export interface TerrainLayers<N extends TerrainName = TerrainName> {
  readonly layers: Readonly<Record<N, Layer>>;
  /** Most water first; only where "ponding" was made. */
  readonly ponds?: readonly FieldPond[];
  readonly issues: readonly Issue[];
}

/**
 * What the heights of a field and the ground around it give.
 *
 * The raster is looked at with a margin that the layers need, so that edges of the field are judged by the ground on
 * both sides and water from outside is counted; where the raster ends there, by what there is, and an issue says so.
 *
 * @param raster - Heights in **metres**: convert feet with `scaleRaster` first.
 * @param mask - 1 for cells of the field; others come out NaN.
 * @param make - Which layers; each is worked out once, and nothing that no layer asks for.
 * @throws {FieldError} `raster/outside`; `terrain/radii` when the near radius is not the smaller.
 *
 * Formulas, edges, sources and checks: with each kernel in `grid/`, and in docs/methods/terrain.md.
 */
export function terrainLayers<N extends TerrainName>(
  raster: Raster,
  grid: Grid,
  mask: Uint8Array,
  make: readonly N[],
  options: TerrainOptions = {},
): TerrainLayers<N> {
  const settled = settleTerrain(make, grid.cellSize, options);
  refuseRadii(settled);
  const {marginM, smoothM} = settled;
  const wide = widenGrid(grid, marginM);
  const {values: read, method} = resampleRaster(raster, wide);
  const issues = [
    ...coverIssues(raster.name, cropTo(grid, wide, read), mask),
    ...heightDoubts(raster, read),
    ...marginDoubts(raster, coveragePct(read, new Uint8Array(read.length).fill(1)), marginM),
  ];
  const heights = smoothValues(wide, read, smoothM);
  const derived = derive(heights, wide.cols, wide.cellSize, settled);
  const layers = {} as Record<N, Layer>;
  for (const name of make) {
    const kind: TerrainKind = TERRAIN[name];
    layers[name] = {
      ...kind,
      grid,
      values: within(cropTo(grid, wide, derived.values(name)), mask),
      madeFrom: {
        step: "layers/terrain",
        inputs: [raster.name],
        options: {smoothM, relativeRadiusM: settled.relativeRadiusM, resampling: method, ...ownOptions(name, settled)},
      },
    };
  }
  const names: readonly TerrainName[] = make;
  if (FLOW.some((name) => names.includes(name))) {
    const beyond = cropTo(grid, wide, Float64Array.from(derived.flow().fromEdge));
    const cells = mask.reduce((sum, inside) => sum + inside, 0);
    const reached = mask.reduce((sum, inside, i) => sum + (inside ? (beyond[i] as number) : 0), 0);
    issues.push(...flowDoubts(raster, (100 * reached) / cells, marginM));
  }
  if (!names.includes("ponding")) return {layers, issues};
  const ponds = derived.ponds().ponds.flatMap((pond) => inField(pond, grid, wide, mask));
  return {layers, ponds, issues: [...issues, ...pondNote(raster, ponds, settled)]};
}

const FLOW: readonly TerrainName[] = ["catchment area", "water from beyond", "wetness"];

function refuseRadii({radiiM: {near, far}}: SettledTerrain): void {
  if (near > 0 && far > near) return;
  throw new FieldError(
    "terrain/radii",
    `Position from ${formatNumber(near)} m to ${formatNumber(far)} m away is on no ground.`,
    {hint: "Give layers.elevation.radii a near radius above zero and a far one beyond it."},
  );
}

/** What a layer depends on beside what all of them do. */
function ownOptions(name: TerrainName, {gradient, radiiM, drainage, breach, flow, ponds}: SettledTerrain) {
  const routed = {drainage, ...(drainage === "breach" && {breach}), flow};
  switch (name) {
    case "slope":
      return gradient === "horn" ? {} : {gradient};
    case "aspect":
    case "northness":
    case "eastness":
      return {gradient};
    case "near position":
    case "far position":
      return {radiiM};
    case "catchment area":
    case "water from beyond":
    case "wetness":
      return routed;
    case "ponding":
      return {ponds};
    default:
      return {};
  }
}

function inField(pond: Pond, grid: Grid, wide: Grid, mask: Uint8Array): FieldPond[] {
  const left = Math.round((grid.west - wide.west) / grid.cellSize);
  const top = Math.round((wide.north - grid.north) / grid.cellSize);
  let inside = 0;
  for (const cell of pond.cells) {
    const col = (cell % wide.cols) - left;
    const row = Math.floor(cell / wide.cols) - top;
    if (col < 0 || row < 0 || col >= grid.cols || row >= grid.rows) continue;
    inside += mask[row * grid.cols + col] as number;
  }
  if (inside === 0) return [];
  const {cell, levelM, depthM, areaM2, volumeM3} = pond;
  return [
    {
      x: centreX(wide, cell % wide.cols),
      y: centreY(wide, Math.floor(cell / wide.cols)),
      levelM,
      depthM,
      areaM2,
      insideM2: inside * grid.cellSize ** 2,
      volumeM3,
    },
  ];
}

function pondNote(raster: Raster, ponds: readonly FieldPond[], {ponds: limits}: SettledTerrain): Issue[] {
  const inside = ponds.reduce((sum, {insideM2}) => sum + insideM2, 0);
  const water = ponds.reduce((sum, {volumeM3}) => sum + volumeM3, 0);
  const size = `${formatNumber(limits.leastDepthM * 100)} cm deep and ${formatNumber(limits.leastAreaM2)} m² large`;
  const found =
    ponds.length === 0
      ? `No depression of the field would hold a pond at least ${size}.`
      : `${ponds.length === 1 ? "One depression" : `${ponds.length} depressions`} at least ${size} would hold ${formatNumber(water)} m³ of water, on ${formatNumber(inside)} m² of the field.`;
  return [{code: "terrain/ponds", severity: "note", message: found, place: {file: raster.name}}];
}
