import type {Issue} from "../errors.ts";
import type {Field} from "../geo/field.ts";
import {areaM2, polygonAreaM2} from "../geo/measure.ts";
import type {Part} from "../geo/partition.ts";
import type {Grid} from "../grid/grid.ts";
import {formatArea, formatNumber} from "../units/format.ts";
import {metres} from "../units/quantity.ts";
import {describeZones} from "./describe-zones.ts";
import {drawZones} from "./draw-zones.ts";
import {type Feature, type FeatureMatrix, isClassLayer} from "./feature-matrix.ts";
import {labelCells} from "./label-cells.ts";
import {isComparable} from "./memberships.ts";
import {minimumWidth} from "./minimum-width.ts";
import {narrowIssues, tidyingCost} from "./tidy-labels.ts";
import type {ZoneMap} from "./zone-map.ts";
import {meanIn} from "./zone-means.ts";
import {type ZoneOptions, type ZoneSettings, zoneSettings} from "./zone-options.ts";

/**
 * Management zones of a field: ground that is alike in the layers given, in pieces large enough to sample and spread.
 *
 * Not a verdict on whether zones pay: the variance explained is that of the layers the zones were made from, which
 * any zones explain in part. Judge them by something they were not made from.
 *
 * @param input.grid - Grid of every layer. Every cell whose centre is in the field gets a zone: a cell that lacks
 *   layers is compared by those it has, or, when these carry under 60 % of the weight, follows its neighbours.
 * @returns Zones 1…k by rising mean of the leading layer: the first yield layer, else the first numeric one, else the
 *   first. Polygons are a valid coverage of the field; cells are in the zone whose polygon holds their centre.
 * @throws {FieldError} `zones/count`, `zones/option`, `zones/no-layers`, `zones/grid-differs`, `zones/layer-twice`,
 *   `zones/weight`, `zones/no-cells`, `zones/nothing-varies`, `zones/too-few-cells`.
 *
 * Randomness: `options.seed`, for the starts of k-means and, above 50,000 cells, those it is fitted on. Needs GEOS.
 * Method and sources: docs/methods/zones.md.
 */
export function buildZones(
  {field, grid, features}: {field: Field; grid: Grid; features: readonly Feature[]},
  options: ZoneOptions = {},
): ZoneMap {
  const settings = zoneSettings(areaM2(field.outline), options);
  const {matrix, count, clustered, labels, strength, issues} = labelCells(field, grid, features, settings);
  const {minArea, minWidth = metres(0)} = settings;
  const drawn = drawZones(field.outline, grid, labels, minArea, strength);
  const tidying = tidyingCost(grid, clustered, drawn.cells, matrix, minWidth || minimumWidth());
  const {parts, cells} = inOrder(drawn.parts, drawn.cells, leadingFeature(matrix.used).layer.values);

  return {
    grid,
    cells,
    zones: describeZones(
      parts.map(({shape}) => shape),
      cells,
      features,
    ),
    varianceExplained: {clustered: tidying.explained.before, tidied: tidying.explained.after},
    tidying,
    issues: [
      ...matrix.issues,
      ...issues,
      ...gapIssues(matrix),
      ...sizeIssues(parts, count, settings),
      ...narrowIssues(minWidth, tidying),
    ],
    madeFrom: {
      step: "zones/build",
      inputs: features.map(({layer}) => layer.id),
      options: {
        ...settings,
        layers: matrix.used.map(({layer, theme, weight = 1}) => ({id: layer.id, theme, weight})),
      },
      seed: settings.seed,
    },
  };
}

function leadingFeature(used: readonly Feature[]): Feature {
  const numeric = used.filter(({layer}) => !isClassLayer(layer));
  return (numeric.find(({theme}) => theme === "yield") ?? numeric[0] ?? used[0]) as Feature;
}

/** Numbers the zones 1…k by rising mean of the leading layer; one without data of it comes last. */
function inOrder(
  parts: readonly Part[],
  cells: Uint8Array,
  leading: Float64Array,
): {parts: readonly Part[]; cells: Uint8Array} {
  const means = parts.map((part) => ({part, mean: meanIn(leading, cells, part.label)}));
  const rank = (mean: number): number => (Number.isNaN(mean) ? Infinity : mean);
  means.sort((a, b) => (rank(a.mean) < rank(b.mean) ? -1 : rank(a.mean) > rank(b.mean) ? 1 : 0));
  const id = new Map(means.map(({part}, i) => [part.label, i + 1]));
  return {
    parts: means.map(({part}, i) => ({label: i + 1, shape: part.shape})),
    cells: cells.map((label) => id.get(label) ?? 0),
  };
}

/** What was done about cells that lack layers. */
function gapIssues({cells, present}: FeatureMatrix): Issue[] {
  const followed = present.filter((share) => !isComparable(share)).length;
  if (followed === 0) return [];
  const share = formatNumber((100 * followed) / cells.length, 1);
  return [
    {
      code: "zones/cells-without-data",
      severity: followed > 0.05 * cells.length ? "warning" : "note",
      message: `${formatNumber(followed)} of ${formatNumber(cells.length)} cells (${share} %) lack over 40 % of the layers' weight; they are in the zone of the nearest cell that has it.`,
    },
  ];
}

/** What the minimum area did to the zones, and where it could not be kept. */
function sizeIssues(parts: readonly Part[], count: number, {minArea}: ZoneSettings): Issue[] {
  const issues: Issue[] = [];
  const least = `${formatArea(minArea)} (${formatArea(minArea, "metric", 2)})`;
  if (parts.length < count) {
    const lost = count - parts.length;
    issues.push({
      code: "zones/zone-merged-away",
      severity: "warning",
      message: `${lost} of ${count} zones had no piece of at least ${least} and went to their neighbours; ${parts.length} ${parts.length === 1 ? "zone remains" : "zones remain"}.`,
      hint: "Lower the smallest piece of a zone, or ask for fewer zones.",
    });
  }
  const pieces = parts.flatMap(({shape}) => shape.map(polygonAreaM2)).filter((area) => area < minArea);
  if (pieces.length > 0) {
    issues.push({
      code: "zones/piece-under-minimum",
      severity: "note",
      message: `${pieces.length} ${pieces.length === 1 ? "piece is" : "pieces are"} under ${least}: ${pieces.length === 1 ? "it is a part" : "they are parts"} of the field without a neighbour to join.`,
    });
  }
  return issues;
}
