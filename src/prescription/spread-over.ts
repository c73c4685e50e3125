import {intersection} from "../geo/geos.ts";
import {areaM2, boxOf} from "../geo/measure.ts";
import type {Box} from "../geo/shapes.ts";
import {SQUARE_METRES_PER_ACRE} from "../units/factors.ts";
import type {Piece} from "./divide-ground.ts";
import type {Layout} from "./lay-polygons.ts";
import type {SpreadUnit} from "./prescribe-pass.ts";
import type {UnitSpread} from "./prescription.ts";
import type {RatedGround} from "./rated-ground.ts";

/**
 * What each sampling unit gets of one product.
 *
 * @param machine - Rate of each ground within the machine's limits.
 * @param share - Of a change of a ground's rate that reaches a piece.
 * @param units - The sampling units, where the ground is not theirs.
 * @param own - A unit's machine rate from its exact one.
 */
export function spreadOver(
  ground: readonly RatedGround[],
  layout: Layout,
  p: number,
  machine: readonly number[],
  share: (piece: Piece) => number,
  units: readonly SpreadUnit[] | undefined,
  own: (exactLbPerAcre: number) => number,
): UnitSpread[] {
  if (units) return overUnits(units, layout, p, own);
  const {pieces, after} = layout;
  const sums = ground.map(() => ({off: 0, open: 0, area: 0}));
  const closed = new Set<number>();
  pieces.forEach((piece, i) => {
    const sum = sums[piece.ground] as Sum;
    const passed = share(piece);
    sum.off += piece.area * ((after[i]?.[p] as number) - (machine[piece.ground] as number));
    sum.open += piece.area * passed;
    sum.area += piece.area;
    if (passed < 1) closed.add(piece.ground);
  });
  return ground.map(({id, area}, g): UnitSpread => {
    const {off, open, area: laid} = sums[g] as Sum;
    const ownLbPerAcre = machine[g] as number;
    // Simplified outlines leave a unit more or less ground than its plan gave it; rounding does not count.
    const gained = Math.abs(laid - area) < 1e-9 * area ? 0 : laid - area;
    return {
      unit: id,
      acres: area / SQUARE_METRES_PER_ACRE,
      ownLbPerAcre,
      meanLbPerAcre: ownLbPerAcre + (off + gained * ownLbPerAcre) / area,
      share: closed.has(g) ? open / area : 1,
    };
  });
}

interface Sum {
  off: number;
  open: number;
  area: number;
}

/** Lays the polygons over units; each polygon's area is shared out among the units it meets. */
function overUnits(
  units: readonly SpreadUnit[],
  {polygons}: Layout,
  p: number,
  own: (exactLbPerAcre: number) => number,
): UnitSpread[] {
  const boxes = units.map(({shape}) => boxOf(shape));
  const lb = new Float64Array(units.length);
  for (const {polygon, area, rates} of polygons) {
    const mine = boxOf([polygon]);
    const met = units.map(({shape}, u) => (meet(mine, boxes[u] as Box) ? areaM2(intersection([polygon], shape)) : 0));
    const all = met.reduce((sum, part) => sum + part, 0);
    if (all === 0) continue;
    met.forEach((part, u) => {
      lb[u] = (lb[u] as number) + ((area * part) / all / SQUARE_METRES_PER_ACRE) * (rates[p] as number);
    });
  }
  return units.map(({id, area, exactLbPerAcre}, u) => ({
    unit: id,
    acres: area / SQUARE_METRES_PER_ACRE,
    ownLbPerAcre: own(exactLbPerAcre[p] as number),
    meanLbPerAcre: (lb[u] as number) / (area / SQUARE_METRES_PER_ACRE),
    share: 1,
  }));
}

function meet(a: Box, b: Box): boolean {
  return a.west < b.east && b.west < a.east && a.south < b.north && b.south < a.north;
}

/** What a unit would get on the ground if its own rate were another: as spread, moved by what reaches the ground. */
export function onTheGround({ownLbPerAcre, meanLbPerAcre, share}: UnitSpread, lbPerAcre: number): number {
  if (meanLbPerAcre === ownLbPerAcre && share === 1) return lbPerAcre;
  return Math.max(0, meanLbPerAcre + share * (lbPerAcre - ownLbPerAcre));
}
