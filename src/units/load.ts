import {FieldError} from "../errors.ts";
import {KILOGRAMS_PER_POUND, POUNDS_PER_SHORT_TON} from "./factors.ts";
import {parseMassKg, splitQuantity} from "./parse.ts";

/** What a machine holds: by weight, or by room. */
export interface LoadSize {
  readonly amount: number;
  readonly unit: "lb" | "gal" | "ft3";
}

/** `"8 ton"`, `"1600 gal"` or `"300 ft3"`. */
export function parseLoad(text: string, what = "load"): LoadSize {
  const {value, unit} = splitQuantity(text, what, "8 ton");
  if (!(value > 0)) {
    throw new FieldError("units/no-load", `"${text}" is not a ${what}.`, {hint: 'Write what it holds, as in "8 ton".'});
  }
  const word = unit.toLowerCase();
  if (word === "gal" || word === "ft3") return {amount: value, unit: word};
  if (word === "ton" || word === "tons") return {amount: value * POUNDS_PER_SHORT_TON, unit: "lb"};
  return {amount: parseMassKg(text, what) / KILOGRAMS_PER_POUND, unit: "lb"};
}
