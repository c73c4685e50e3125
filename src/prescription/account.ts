import {SQUARE_METRES_PER_ACRE} from "../units/factors.ts";
import type {Layout} from "./lay-polygons.ts";
import type {PassProduct} from "./prescribe-pass.ts";
import type {Merging, RateShift, SetbackTaken} from "./prescription.ts";
import type {RatedGround} from "./rated-ground.ts";
import {concerns, type Setback, setbackRate} from "./setback.ts";

/** Where pounds went between the machine's rates and the polygons. */
export interface Account {
  readonly shifts: Pick<RateShift, "outlinesLb" | "setbacksLb" | "mergingLb">;
  readonly taken: readonly SetbackTaken[];
  readonly merging: Pick<Merging, "acresMoved" | "lbAdded" | "lbTaken">;
}

/**
 * Counts one product's pounds piece by piece: what other outlines, setbacks and merging moved.
 *
 * @param ground - As it was before outlines were simplified.
 * @param rates - Of each ground, before setbacks and merging.
 */
export function accountOf(
  ground: readonly RatedGround[],
  layout: Layout,
  p: number,
  rates: readonly number[],
  setbacks: readonly Setback[],
  one: PassProduct,
  simplified: boolean,
): Account {
  const {pieces, before, after, polygonOf, merged} = layout;
  const taken = setbacks.map(({name, kind}) => ({name, kind, polygons: new Set<string>(), acres: 0, openLb: 0, lb: 0}));
  const laid = new Float64Array(ground.length);
  let setbacksLb = 0;
  const moved = {acresMoved: 0, lbAdded: 0, lbTaken: 0};
  pieces.forEach((piece, i) => {
    const acres = piece.area / SQUARE_METRES_PER_ACRE;
    const open = rates[piece.ground] as number;
    const [was, is] = [before[i]?.[p] as number, after[i]?.[p] as number];
    laid[piece.ground] = (laid[piece.ground] as number) + acres;
    setbacksLb += acres * (was - open);
    if (is !== was) moved.acresMoved += acres;
    if (is > was) moved.lbAdded += acres * (is - was);
    else moved.lbTaken += acres * (was - is);
    const strictest = strictestOf(piece.setbacks, setbacks, open, one);
    const own = strictest === undefined ? undefined : taken[strictest];
    if (!own) return;
    own.polygons.add(polygonOf[i] as string);
    own.acres += acres;
    own.openLb += acres * open;
    own.lb += acres * is;
  });
  const outlinesLb = ground.reduce((sum, {area}, g) => {
    return sum + (rates[g] as number) * ((laid[g] as number) - area / SQUARE_METRES_PER_ACRE);
  }, 0);
  const joined = merged.close + merged.small > 0 || moved.acresMoved > 0;
  return {
    shifts: {
      ...(simplified && {outlinesLb}),
      ...(setbacks.length > 0 && {setbacksLb}),
      ...(joined && {mergingLb: moved.lbAdded - moved.lbTaken}),
    },
    taken: taken
      .filter((_, s) => concerns(setbacks[s] as Setback, one.product, one.nutrient))
      .map((own) => ({...own, polygons: [...own.polygons]})),
    merging: moved,
  };
}

/** The setback that leaves the least, the first of equals; undefined where none speaks of the product. */
function strictestOf(
  inside: readonly number[],
  setbacks: readonly Setback[],
  open: number,
  {product, nutrient, limits}: PassProduct,
): number | undefined {
  let best: number | undefined;
  let least = Infinity;
  for (const s of inside) {
    const setback = setbacks[s] as Setback;
    if (!concerns(setback, product, nutrient)) continue;
    const rate = setbackRate(setback, open, limits);
    if (rate >= least) continue;
    least = rate;
    best = s;
  }
  return best;
}
