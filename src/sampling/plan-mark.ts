import {centroid} from "../geo/measure.ts";
import type {SamplingPlan} from "./plan.ts";

/** Digits and capital letters that cannot be mistaken for one another. */
const LETTERS = "0123456789ABCDEFGHJKLMNPQRSTUVWXYZ";
const LENGTH = 7;

/**
 * A short mark of which ground each sample of a plan speaks for: the same for the same units, another as soon as an id,
 * an outline or the order changes by more than a metre. Seven characters; two different plans share one in 50 thousand
 * million.
 *
 * Printed on the crew's sheet and kept with lab results, so that results never land on other acres because a plan was made
 * anew.
 */
export function planMark({strategy, units}: Pick<SamplingPlan, "strategy" | "units">): string {
  const text = units
    .map(({id, area, shape}) => {
      const {x, y} = centroid(shape);
      return `${id} ${Math.round(area / AREA_STEP_M2)} ${Math.round(x)} ${Math.round(y)}`;
    })
    .join("\n");
  let left = hash(`${strategy}\n${text}`);
  let mark = "";
  for (let i = 0; i < LENGTH; i++) {
    mark += LETTERS[Number(left % 34n)];
    left /= 34n;
  }
  return mark;
}

/** About a hundredth of an acre: borders that move by less make the same plan. */
const AREA_STEP_M2 = 40;

/** FNV-1a, 64 bits. */
function hash(text: string): bigint {
  let value = 0xcbf29ce484222325n;
  for (let i = 0; i < text.length; i++) {
    value = BigInt.asUintN(64, (value ^ BigInt(text.charCodeAt(i))) * 0x100000001b3n);
  }
  return value;
}
