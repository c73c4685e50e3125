import {FieldError} from "../errors.ts";
import {KILOGRAMS_PER_POUND, POUNDS_PER_SHORT_TON, SQUARE_METRES_PER_ACRE} from "./factors.ts";
import {splitQuantity} from "./parse.ts";

const PER_POUND = {
  lb: 1,
  ton: 1 / POUNDS_PER_SHORT_TON,
  kg: KILOGRAMS_PER_POUND,
  t: KILOGRAMS_PER_POUND / 1000,
} as const;

/** `"720 $/ton"` (short ton) to dollars per pound of product. */
export function parsePricePerPound(text: string, what = "product price"): number {
  const {value, per} = splitPrice(text, what, "720 $/ton");
  const factor = Object.hasOwn(PER_POUND, per) ? PER_POUND[per as keyof typeof PER_POUND] : undefined;
  if (factor === undefined) {
    throw new FieldError("units/unknown-unit", `"$/${per}" is not a unit for a ${what} (in "${text}").`, {
      hint: "Use $/lb, $/ton (2,000 lb), $/kg or $/t.",
    });
  }
  return value * factor;
}

/** `"12 $/sample"` or `"4 $/ac"`: dollars per the named thing, which must be the one asked for. */
export function parsePriceEach(text: string, each: "sample" | "core" | "ac" | "hour", what: string): number {
  const {value, per} = splitPrice(text, what, `12 $/${each}`);
  if (each === "ac" && per === "ha") return value / (10_000 / SQUARE_METRES_PER_ACRE);
  if (per !== each) {
    throw new FieldError("units/unknown-unit", `A ${what} is in $/${each}, not "$/${per}" (in "${text}").`, {
      hint: `Write it as in "12 $/${each}".`,
    });
  }
  return value;
}

/** A price of harvest: dollars per bushel or short ton, as the yield goal is given. */
export interface CropPrice {
  readonly dollars: number;
  readonly per: "bu" | "ton";
}

/** `"4.20 $/bu"` or `"180 $/ton"`. Nothing is converted: bushels differ by crop. */
export function parseCropPrice(text: string, what = "crop price"): CropPrice {
  const {value, per} = splitPrice(text, what, "4.20 $/bu");
  if (per === "bu" || per === "ton") return {dollars: value, per};
  throw new FieldError("units/unknown-unit", `A ${what} is in $/bu or $/ton, not "$/${per}" (in "${text}").`, {
    hint: 'Write it as in "4.20 $/bu".',
  });
}

/** `"800 $"` to dollars. */
export function parseDollars(text: string, what = "amount"): number {
  const {value, unit} = splitQuantity(text, what, "800 $");
  if (unit === "$" && value >= 0) return value;
  throw new FieldError("units/not-dollars", `"${text}" is not a ${what} in dollars.`, {
    hint: 'Write a number and a dollar sign, as in "800 $".',
  });
}

function splitPrice(text: string, what: string, example: string): {value: number; per: string} {
  const {value, unit} = splitQuantity(text, what, example);
  if (!unit.startsWith("$/") || value < 0) {
    throw new FieldError("units/not-a-price", `"${text}" is not a ${what}.`, {
      hint: `Write a positive number, a dollar sign and what it is for, as in "${example}".`,
    });
  }
  return {value, per: unit.slice(2).toLowerCase()};
}
