import type {Issue} from "../errors.ts";
import {coveragePct, within} from "../grid/coverage.ts";
import type {Grid} from "../grid/grid.ts";
import type {Layer} from "../grid/layer.ts";
import {meanAround} from "../grid/local-mean.ts";
import {cropTo, widenGrid} from "../grid/margin.ts";
import type {Raster} from "../grid/raster.ts";
import {resampleRaster} from "../grid/resample.ts";
import {slopeDegrees} from "../grid/slope.ts";
import {smoothValues} from "../grid/smooth.ts";
import {formatNumber} from "../units/format.ts";
import {coverIssues} from "./raster-layer.ts";

export interface TerrainOptions {
  /** Gaussian smoothing before anything is derived, sigma in metres: quiets furrows and noise. Default 5. */
  readonly smoothM?: number;
  /** Radius of the ground a cell's relative elevation is measured against, metres. Default 75. */
  readonly relativeRadiusM?: number;
}

export interface TerrainLayers {
  readonly elevation: Layer<"m">;
  readonly slope: Layer<"deg">;
  /** Height above the mean of the ground within the radius: knolls above zero, swales below. */
  readonly relativeElevation: Layer<"m">;
  readonly issues: readonly Issue[];
}

/** Heights no field on earth has: a no-data value taken for a height. Metres. */
const LOWEST_M = -450;
const HIGHEST_M = 6000;
/** Less of the ground around the field than this, and edges are judged by half of their surroundings. Percent. */
const LEAST_MARGIN_PCT = 80;

/**
 * Elevation, slope and relative elevation of a field.
 *
 * The raster is read with a margin (the relative radius and three sigma), so that edges of the
 * field are judged by the ground on both sides; where the raster ends there, by what there is, and an issue says so.
 *
 * @param raster - Heights in **metres**: convert feet with `scaleRaster` first.
 * @param mask - 1 for cells of the field; others come out NaN.
 * @throws {FieldError} `raster/outside`.
 *
 * Slope: Horn (1981). Checked against closed forms, gdaldem 3.6.2 and a disc mean over a closed-form surface.
 */
export function terrainLayers(
  raster: Raster,
  grid: Grid,
  mask: Uint8Array,
  {smoothM = 5, relativeRadiusM = 75}: TerrainOptions = {},
): TerrainLayers {
  const marginM = relativeRadiusM + 3 * smoothM + grid.cellSize;
  const wide = widenGrid(grid, marginM);
  const {values: read, method} = resampleRaster(raster, wide);
  const issues = [...coverIssues(raster.name, cropTo(grid, wide, read), mask), ...heightIssues(raster, read)];
  const around = coveragePct(read, new Uint8Array(read.length).fill(1));
  if (around < LEAST_MARGIN_PCT) {
    issues.push({
      code: "terrain/no-margin",
      severity: "note",
      message: `${raster.name} ends close to the field: ${formatNumber(around)} % of the ground within ${formatNumber(marginM)} m has heights, so slope and relative elevation at the edges rest on one side.`,
      place: {file: raster.name},
      hint: `Get elevation with ${formatNumber(marginM)} m of ground around the field.`,
    });
  }
  const heights = smoothValues(wide, read, smoothM);
  const slope = slopeDegrees(heights, wide.cols, wide.cellSize);
  const means = meanAround(heights, wide.cols, relativeRadiusM / wide.cellSize);
  const relative = heights.map((z, i) => z - (means[i] as number));
  const layer = <U extends string>(id: string, label: string, unit: U, values: Float64Array): Layer<U> => ({
    id,
    label,
    unit,
    grid,
    values: within(cropTo(grid, wide, values), mask),
    madeFrom: {step: "layers/terrain", inputs: [raster.name], options: {smoothM, relativeRadiusM, resampling: method}},
  });
  return {
    elevation: layer("elevation", "Elevation", "m", heights),
    slope: layer("slope", "Slope", "deg", slope),
    relativeElevation: layer("relative-elevation", "Relative elevation", "m", relative),
    issues,
  };
}

function heightIssues(raster: Raster, heights: Float64Array): Issue[] {
  let low = Infinity;
  let high = -Infinity;
  for (const z of heights) {
    if (z < low) low = z;
    if (z > high) high = z;
  }
  const issues: Issue[] = [];
  if (low < LOWEST_M || high > HIGHEST_M) {
    issues.push({
      code: "terrain/impossible-height",
      severity: "warning",
      message: `${raster.name} holds heights from ${formatNumber(low)} to ${formatNumber(high)} m.`,
      place: {file: raster.name},
      hint: "Check its unit of height and its no-data value.",
    });
  }
  if (raster.values.every((z) => Number.isNaN(z) || Number.isInteger(z)) && high > low) {
    issues.push({
      code: "terrain/whole-metres",
      severity: "note",
      message: `${raster.name} gives heights in whole steps; slopes of gentle ground come out as terraces.`,
      place: {file: raster.name},
      hint: "Use a finer elevation model if there is one, or more smoothing.",
    });
  }
  return issues;
}
