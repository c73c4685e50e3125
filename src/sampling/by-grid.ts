import {FieldError, type Issue} from "../errors.ts";
import type {Field} from "../geo/field.ts";
import {areaM2} from "../geo/measure.ts";
import {runningAngle} from "../geo/oriented-box.ts";
import type {XY} from "../geo/shapes.ts";
import {seededRandom} from "../stats/random.ts";
import {METRES_PER_FOOT, SQUARE_METRES_PER_ACRE} from "../units/factors.ts";
import {formatArea, formatNumber} from "../units/format.ts";
import {type Metres, metres, type SquareMetres, squareMetres} from "../units/quantity.ts";
import {cutCells, type GridCell} from "./grid-cells.ts";
import {type GridLines, layGrid, placeInCell} from "./grid-lines.ts";
import {makePlan} from "./make-plan.ts";
import {checkArea, checkCount, northWest, type PlanOptions, resolveOptions} from "./options.ts";
import type {SamplingPlan} from "./plan.ts";
import {toAndFro} from "./to-and-fro.ts";

export interface GridOptions extends PlanOptions {
  /** Nominal area of a cell. Default 2.5 ac, a square of 330 ft, the commonest (Crops & Soils, July-August 2021). */
  readonly cellArea?: SquareMetres | undefined;
  /**
   * Direction the cells run in, degrees clockwise from north, such as the rows'. Default: the long side of the smallest
   * rectangle around the field's largest part. (The longest boundary edge would depend on how finely the boundary was
   * digitised.)
   */
  readonly heading?: number | undefined;
  /**
   * Length of a cell along the heading over its width. Default 1, square. Where a spreader has run the same way for
   * years 2 to 4 may follow its pattern better (Ohio State University, grid soil sampling report).
   */
  readonly lengthToWidth?: number | undefined;
  /** Edge pieces under this share of a cell join a neighbour. Default 0.5 (common practice, 40 to 50 %, no source). */
  readonly mergeBelow?: number | undefined;
  /** `cell` (default): cores all over the cell, for its mean. `point`: cores near its middle, for a map drawn later. */
  readonly pattern?: "cell" | "point" | undefined;
  /**
   * `aligned` (default): cells in straight columns. `staggered`: every other lane shifted by half a cell, so that points
   * stand like bricks; with `lengthToWidth` 1.1547 they make triangles of equal sides. `unaligned`: points at random
   * within cells, one shift along the rows for each row and one across for each column (systematic unaligned sampling:
   * Quenouille 1949, Biometrika 36: 355–375; Berry 1962; from memory), so that tile, old rows or swaths cannot fall in
   * step with them; needs `pattern` `point`, its default then.
   */
  readonly layout?: "aligned" | "staggered" | "unaligned" | undefined;
  /** Radius of a point's cores. Default 15 ft, between Kansas State's 5 to 10 and North Carolina State's 15 to 30. */
  readonly radius?: Metres | undefined;
}

/** University of Illinois Extension: 10 to 15 cores for 2.5 ac. */
const USUAL_CORES_OF_CELL = 10;
/** North Carolina State University: 8 to 10 cores in the circle of a point. */
const USUAL_CORES_AT_POINT = 8;

/**
 * Grid sampling: the field cut into cells of one size along the direction it runs in, pieces at its edge joined to
 * their neighbours, together exactly the field. Numbered to and fro along the rows (or columns) that run with it.
 *
 * Clipped cells are smaller, joined ones larger than the nominal area, so the count is not area over cell size.
 *
 * @throws {FieldError} `sampling/area`, `sampling/heading`, `sampling/cell-shape`, `sampling/merge-below`,
 *   `sampling/radius`, `sampling/layout`, `sampling/too-many-units`, and those of the common options.
 */
export function planGrid(field: Field, options: GridOptions = {}): SamplingPlan {
  const grid = resolveGrid(options);
  const settings = resolveOptions(field, options, grid.pattern === "cell" ? USUAL_CORES_OF_CELL : USUAL_CORES_AT_POINT);
  const fieldAreaM2 = areaM2(field.outline);
  // Merging leaves at most two cells' worth of pieces to a cell.
  checkCount(Math.floor(fieldAreaM2 / grid.cellArea / 2));

  const angle = options.heading === undefined ? runningAngle(field.outline) : angleOf(options.heading);
  const size = {areaM2: grid.cellArea, lengthToWidth: grid.lengthToWidth};
  const lines = layGrid(field.outline, angle, size, grid.mergeBelow, grid.layout === "staggered");
  const leastM2 = grid.mergeBelow * grid.cellArea * (1 - 1e-6);
  const {cells, merged} = cutCells(field.outline, lines, leastM2);
  checkCount(cells.length);

  return makePlan(
    field,
    {
      strategy: "grid",
      units: toAndFro(cells, lines.runsEast, settings.start ?? northWest(field)).map((cell) => ({
        label: `cell ${cell.name}`,
        shape: cell.shape,
        ...(grid.layout === "unaligned" && {point: unalignedPoint(lines, cell, settings.seed)}),
      })),
      pooled: false,
      angle,
      circleM: grid.pattern === "point" ? grid.radius : undefined,
      issues: gridRemarks(cells, merged, fieldAreaM2, grid),
      inputs: [field.id],
      options: {...grid, heading: options.heading ?? headingOf(angle)},
    },
    settings,
  );
}

// --- inside ---------------------------------------------------------------------------------------------------

interface GridSettings {
  readonly cellArea: SquareMetres;
  readonly lengthToWidth: number;
  readonly mergeBelow: number;
  readonly pattern: "cell" | "point";
  readonly layout?: "staggered" | "unaligned";
  readonly radius: Metres;
}

/** The shifts of a cell's row and column have names of their own, so that no other cell moves them. */
function unalignedPoint(lines: GridLines, {column, row}: GridCell, seed: number): XY {
  const eastShare = seededRandom(seed, `sampling/grid row ${row}`).next();
  const southShare = seededRandom(seed, `sampling/grid column ${column}`).next();
  return placeInCell(lines, column, row, eastShare, southShare);
}

function resolveGrid(options: GridOptions): GridSettings {
  const {cellArea = squareMetres(2.5 * SQUARE_METRES_PER_ACRE), lengthToWidth = 1, mergeBelow = 0.5} = options;
  const {layout = "aligned", radius = metres(15 * METRES_PER_FOOT), heading = 0} = options;
  const {pattern = layout === "unaligned" ? "point" : "cell"} = options;
  checkArea(cellArea, "The area of a grid cell");
  if (!Number.isFinite(heading)) {
    throw new FieldError("sampling/heading", `${heading} is not a heading.`, {
      hint: "Give degrees clockwise from north, as in 90 for rows that run east.",
    });
  }
  if (!(lengthToWidth >= 0.1 && lengthToWidth <= 10)) {
    throw new FieldError("sampling/cell-shape", `Cells cannot be ${lengthToWidth} times as long as wide.`, {
      hint: "Choose 1 for squares, or 2 to 4 for cells along the spreader's travel.",
    });
  }
  if (!(mergeBelow >= 0 && mergeBelow <= 1)) {
    throw new FieldError("sampling/merge-below", `${mergeBelow} is not a share of a cell.`, {
      hint: "Give a number from 0 to 1; 0.5 joins pieces under half a cell.",
    });
  }
  if (!(radius > 0)) {
    throw new FieldError("sampling/radius", `A circle of ${radius} m holds no cores.`, {
      hint: "Give a radius above zero, as in 15 ft.",
    });
  }
  if (layout === "unaligned" && pattern === "cell") {
    throw new FieldError("sampling/layout", "An unaligned grid shifts points, and cells have none.", {
      hint: 'Choose the pattern "point", or the layout "aligned" or "staggered".',
    });
  }
  return {cellArea, lengthToWidth, mergeBelow, pattern, ...(layout !== "aligned" && {layout}), radius};
}

/** Radians counter-clockwise from east. */
function angleOf(heading: number): number {
  return ((90 - heading) * Math.PI) / 180;
}

/** Degrees from north, 0 up to 180. */
function headingOf(angle: number): number {
  const heading = 90 - (angle * 180) / Math.PI;
  return heading - 180 * Math.floor(heading / 180);
}

function gridRemarks(cells: readonly GridCell[], merged: number, fieldAreaM2: number, grid: GridSettings): Issue[] {
  const issues: Issue[] = [];
  const nominal = Math.round(fieldAreaM2 / grid.cellArea);
  issues.push({
    code: "sampling/cell-count",
    severity: "note",
    message: `${formatArea(fieldAreaM2)} at ${formatArea(grid.cellArea, "us", grid.cellArea < SQUARE_METRES_PER_ACRE ? 2 : 1)} a cell would be ${nominal} cells; cut by the field's edge they are ${cells.length}.`,
  });
  if (merged > 0) {
    issues.push({
      code: "sampling/pieces-merged",
      severity: "note",
      message: `${merged} ${merged === 1 ? "piece" : "pieces"} under ${formatNumber(100 * grid.mergeBelow)} % of a cell ${merged === 1 ? "was" : "were"} joined to a neighbour.`,
    });
  }
  const small = cells.filter((cell) => areaM2(cell.shape) < grid.mergeBelow * grid.cellArea * (1 - 1e-6));
  if (small.length > 0) {
    const names = small.map((cell) => `${cell.name} (${formatArea(areaM2(cell.shape))})`);
    issues.push({
      code: "sampling/small-unit",
      severity: "warning",
      message: `Cut off from the rest of the field and small: cell ${names.join(", ")}.`,
      hint: "Leave such ground out of the field if it is not worth a sample.",
    });
  }
  return issues;
}
