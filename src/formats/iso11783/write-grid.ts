import {FieldError, type Issue} from "../../errors.ts";
import {formatNumber} from "../../units/format.ts";
import {type XmlElement, xml} from "../xml.ts";
import {rawRate} from "./data-dictionary.ts";
import {cellSizeText, coordinateText} from "./number-text.ts";
import type {TaskGrid, TaskProduct} from "./task-data.ts";
import {FIRST_ZONE, ZONE_CODE, ZONE_ROOM, type ZoneDraft} from "./zone-codes.ts";

const MOST_CELLS = 1_000_000;
/** Below this no spreader follows, and terminals slow down; common practice, no source. */
const LEAST_CELL_M = 3;
const METRES_PER_DEGREE = 111_320;

export interface GridDraft {
  readonly zones: readonly ZoneDraft[];
  readonly element: XmlElement;
  readonly bytes: Uint8Array;
  readonly issues: readonly Issue[];
}

/**
 * A grid as its element, the zones it refers to, and the bytes of its file.
 *
 * Cells are written from the south-west corner eastward, then row by row northward, as two independent open readers
 * take them. NaN becomes the code, or the rates, for outside the field.
 *
 * @param outside - Raw rates outside the field, one for each product.
 * @throws {FieldError} `iso11783/bad-grid`, `iso11783/too-many-cells`, `iso11783/too-many-rates`, and what `rawRate` refuses.
 */
export function gridDraft(
  grid: TaskGrid,
  products: readonly TaskProduct[],
  outside: readonly number[],
  fileName: string,
  whose: string,
): GridDraft {
  checkGrid(grid, products.length, whose);
  const {zones, bytes} =
    grid.type === 1
      ? coded(grid, products, whose)
      : {zones: [gridZone(products)], bytes: rated(grid, products, outside, whose)};
  const element = xml("GRD", {
    A: coordinateText(grid.north - grid.rows * grid.cellHeight),
    B: coordinateText(grid.west),
    C: cellSizeText(grid.cellHeight),
    D: cellSizeText(grid.cellWidth),
    E: grid.cols,
    F: grid.rows,
    G: fileName,
    H: bytes.length,
    I: grid.type,
    J: grid.type === 2 ? FIRST_ZONE : undefined,
  });
  return {zones, element, bytes, issues: cellIssues(grid, whose)};
}

function checkGrid(grid: TaskGrid, products: number, whose: string): void {
  const {west, north, cellWidth, cellHeight, cols, rows, rates} = grid;
  const cells = cols * rows;
  const south = north - rows * cellHeight;
  const east = west + cols * cellWidth;
  const sound =
    Number.isInteger(cols) && Number.isInteger(rows) && cols > 0 && rows > 0 && cellWidth > 0 && cellHeight > 0;
  if (!sound || !(west >= -180 && east <= 180 && south >= -90 && north <= 90)) {
    throw new FieldError("iso11783/bad-grid", `${whose} has a grid that does not lie on the earth.`, {
      hint: "Give its west and north edges and its cell size in degrees.",
    });
  }
  if (cells > MOST_CELLS) {
    throw new FieldError("iso11783/too-many-cells", `${whose} has ${formatNumber(cells)} cells.`, {
      hint: `Choose larger cells: up to ${formatNumber(MOST_CELLS)} are written.`,
    });
  }
  if (rates.length !== products || rates.some((values) => values.length !== cells)) {
    throw new Error("a grid needs one array of cols * rows rates for each product");
  }
}

/** Type 2: every cell's rates, four bytes each, low byte first. */
function rated(
  grid: TaskGrid,
  products: readonly TaskProduct[],
  outside: readonly number[],
  whose: string,
): Uint8Array {
  const bytes = new Uint8Array(grid.cols * grid.rows * products.length * 4);
  const view = new DataView(bytes.buffer);
  let at = 0;
  for (const cell of southUp(grid)) {
    products.forEach((product, p) => {
      const rate = grid.rates[p]?.[cell] as number;
      view.setInt32(at, Number.isNaN(rate) ? (outside[p] as number) : rawRate(product.kind, rate, whose), true);
      at += 4;
    });
  }
  return bytes;
}

/** The zone that tells a type 2 grid which values its cells hold; its own values mean nothing. */
function gridZone(products: readonly TaskProduct[]): ZoneDraft {
  return {code: FIRST_ZONE, name: "Grid", raw: products.map(() => 0)};
}

/** Type 1: cells with the same rates share a zone, numbered in the order met from the south-west. */
function coded(
  grid: TaskGrid,
  products: readonly TaskProduct[],
  whose: string,
): {zones: readonly ZoneDraft[]; bytes: Uint8Array} {
  const zones = new Map<string, ZoneDraft>();
  const bytes = new Uint8Array(grid.cols * grid.rows);
  let at = 0;
  for (const cell of southUp(grid)) {
    const rates = products.map((_, p) => grid.rates[p]?.[cell] as number);
    if (rates.some(Number.isNaN)) {
      bytes[at++] = ZONE_CODE.outOfField;
      continue;
    }
    const raw = rates.map((rate, p) => rawRate((products[p] as TaskProduct).kind, rate, whose));
    const key = raw.join();
    let zone = zones.get(key);
    if (!zone) {
      const code = FIRST_ZONE + zones.size;
      zone = {code, name: `Rate ${code}`, raw};
      zones.set(key, zone);
    }
    if (zones.size > ZONE_ROOM) throw tooManyRates(whose);
    bytes[at++] = zone.code;
  }
  return {zones: [...zones.values()], bytes};
}

/** Indexes of north-up cells in the order of the file. */
function* southUp(grid: TaskGrid): Generator<number> {
  for (let row = grid.rows - 1; row >= 0; row--) {
    for (let col = 0; col < grid.cols; col++) yield row * grid.cols + col;
  }
}

function tooManyRates(whose: string): FieldError {
  return new FieldError(
    "iso11783/too-many-rates",
    `${whose} has more than ${ZONE_ROOM} different rates, the most a grid of type 1 can name.`,
    {hint: "Write a grid of type 2, or round the rates to a larger step."},
  );
}

function cellIssues(grid: TaskGrid, whose: string): Issue[] {
  const middle = grid.north - (grid.rows * grid.cellHeight) / 2;
  const high = grid.cellHeight * METRES_PER_DEGREE;
  const wide = grid.cellWidth * METRES_PER_DEGREE * Math.cos((middle * Math.PI) / 180);
  if (Math.min(high, wide) >= LEAST_CELL_M * 0.999) return [];
  return [
    {
      code: "iso11783/small-cells",
      severity: "warning",
      message: `${whose} has cells of ${wide.toFixed(1)} m by ${high.toFixed(1)} m.`,
      hint: `Choose cells of at least ${LEAST_CELL_M} m; about half the working width suits most machines.`,
    },
  ];
}
