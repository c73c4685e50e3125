import type {Issue} from "../errors.ts";
import type {Grid} from "../grid/grid.ts";
import {labelRegions} from "../grid/label-regions.ts";
import {varianceExplained} from "../stats/variance-explained.ts";
import {formatArea, formatLength} from "../units/format.ts";
import {type Metres, squareMetres} from "../units/quantity.ts";
import {calmLabels} from "./calm-labels.ts";
import type {FeatureMatrix} from "./feature-matrix.ts";
import {narrowGround} from "./minimum-width.ts";
import {type CellMisfit, sieveLabels} from "./sieve-labels.ts";
import {widenLabels} from "./widen-labels.ts";

export interface TidySettings {
  /** Smallest piece of a zone, m². */
  readonly minAreaM2: number;
  /** Least width of a zone, metres; 0 for none. See `minimumWidth`. */
  readonly minWidthM: number;
  /** Share of the variance explained that a piece may cost to be merged for calm, 0 to 1; 0 for none. */
  readonly calm: number;
}

/** What a map of zones a machine can follow costs, against the map it was made from. */
export interface TidyingCost {
  /** Share of the variance of the layers that the zones explain, 0 to 1. */
  readonly explained: {readonly before: number; readonly after: number};
  readonly pieces: {readonly before: number; readonly after: number};
  readonly cellsMoved: number;
  readonly areaMovedM2: number;
  /** Ground of zones narrower than the width asked about, in places where the field is wide enough. */
  readonly narrowM2: {readonly before: number; readonly after: number};
}

/** Removing a neck leaves small pieces, and merging these makes necks: after this many turns the rest is reported. */
const MOST_TURNS = 6;

/**
 * Zone labels a machine can follow: no piece under a minimum area, no strip, neck or tip under a minimum width, and,
 * if wished, no piece whose going costs next to nothing.
 *
 * What cannot be kept stays: `tidyingCost` measures it, and what the rest cost.
 *
 * @param labels - Zone of each cell, from 1 to 31; 0 outside. Smoothed memberships made hard are a good start.
 * @param matrix - The layers as points: tells the cost, and which piece costs least.
 * @param misfit - How ill each label suits each cell: ground given up goes to similar ground.
 *
 * Sources: opening by what the machine can follow, Tisseyre and McBratney (2008), Precision Agric. 9:101-113; the rule
 * that chooses the neighbour is ours (docs/methods/zone-lines.md).
 */
export function tidyLabels(
  grid: Grid,
  labels: Uint8Array,
  matrix: Pick<FeatureMatrix, "cells" | "values" | "dims">,
  misfit: CellMisfit | undefined,
  settings: TidySettings,
): Uint8Array {
  const {minAreaM2, minWidthM, calm} = settings;
  let tidy = sieveLabels(grid, labels, minAreaM2, misfit);
  for (let turn = 0; turn < MOST_TURNS && (minWidthM > 0 || calm > 0); turn++) {
    const wide = widenLabels(grid, tidy, minWidthM, misfit);
    const next = calmLabels(grid, sieveLabels(grid, wide, minAreaM2, misfit), matrix, calm);
    const settled = next.every((label, cell) => label === tidy[cell]);
    tidy = next;
    if (settled) break;
  }
  return tidy;
}

/**
 * What changed between two maps of one grid.
 *
 * @param minWidthM - Ground narrower than this by more than a cell counts as narrow; 0 measures none.
 */
export function tidyingCost(
  grid: Grid,
  before: Uint8Array,
  after: Uint8Array,
  matrix: Pick<FeatureMatrix, "cells" | "values" | "dims">,
  minWidthM: number,
): TidyingCost {
  const of = <T>(measure: (map: Uint8Array) => T): {before: T; after: T} => ({
    before: measure(before),
    after: measure(after),
  });
  // Lines are drawn through cells, so a width is kept to within one.
  const width = minWidthM - grid.cellSize;
  const cellsMoved = after.reduce((sum, label, cell) => sum + (label === before[cell] ? 0 : 1), 0);
  return {
    explained: of((map) =>
      varianceExplained(
        matrix,
        Uint8Array.from(matrix.cells, (cell) => map[cell] as number),
      ),
    ),
    pieces: of((map) => labelRegions(grid, map).labels.length),
    cellsMoved,
    areaMovedM2: cellsMoved * grid.cellSize * grid.cellSize,
    narrowM2: of((map) => (width > 0 ? narrowGround(grid, map, width, (minWidthM / 2) ** 2).areaM2 : 0)),
  };
}

/** Where a width asked for could not be kept. */
export function narrowIssues(minWidth: Metres, {narrowM2}: TidyingCost): Issue[] {
  if (minWidth === 0 || narrowM2.after === 0) return [];
  const area = squareMetres(narrowM2.after);
  return [
    {
      code: "zones/narrow-ground",
      severity: "note",
      message: `${formatArea(area)} (${formatArea(area, "metric", 2)}) of the zones is narrower than ${formatLength(minWidth)}, because no neighbour could take it.`,
      hint: "A machine will blur the rates there; accept it, or ask for fewer zones.",
    },
  ];
}
