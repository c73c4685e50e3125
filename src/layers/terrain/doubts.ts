import type {Issue} from "../../errors.ts";
import type {Raster} from "../../grid/raster.ts";
import {formatNumber} from "../../units/format.ts";

/** Heights no field on earth has: a no-data value taken for a height. Metres. */
const LOWEST_M = -450;
const HIGHEST_M = 6000;
/** Less of the ground around the field than this, and edges are judged by half of their surroundings. Percent. */
const LEAST_MARGIN_PCT = 80;

/** Too little ground around the field for its edges. */
export function marginDoubts(raster: Raster, aroundPct: number, marginM: number): Issue[] {
  if (aroundPct >= LEAST_MARGIN_PCT) return [];
  return [
    {
      code: "terrain/no-margin",
      severity: "note",
      message: `${raster.name} ends close to the field: ${formatNumber(aroundPct)} % of the ground within ${formatNumber(marginM)} m has heights, so slope and relative elevation at the edges rest on one side.`,
      place: {file: raster.name},
      hint: `Get elevation with ${formatNumber(marginM)} m of ground around the field.`,
    },
  ];
}

/** Heights that are none, or too coarse. */
export function heightDoubts(raster: Raster, heights: Float64Array): Issue[] {
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

/** How much of the field may get water from ground without heights. */
export function flowDoubts(raster: Raster, fromBeyondPct: number, marginM: number): Issue[] {
  if (fromBeyondPct < 0.5) return [];
  return [
    {
      code: "terrain/water-from-beyond",
      severity: "note",
      message: `${formatNumber(fromBeyondPct)} % of the field may get water from beyond the ${formatNumber(marginM)} m around it that were looked at; catchment area and wetness are the least they can be there.`,
      place: {file: raster.name},
      hint: "Look further with layers.elevation.margin, if the elevation file reaches further.",
    },
  ];
}
