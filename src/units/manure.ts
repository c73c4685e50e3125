import {FieldError} from "../errors.ts";

/** An application of manure and what a measure of it holds. */
export interface ManureAmount {
  readonly amount: number;
  readonly unit: "gal" | "ton";
}

export interface ManureContent extends ManureAmount {
  /** lb of nutrient in `amount` units. */
  readonly lb: number;
}

/** `"4000 gal/ac"` or `"3 ton/ac"`. @throws {FieldError} `units/not-a-quantity`. */
export function parseManureAmount(text: string, what = "amount of manure"): ManureAmount {
  const match = /^\s*(\d+(?:\.\d+)?)\s*(gal|ton)s?\s*\/\s*ac(?:re)?\s*$/i.exec(text);
  if (!match) throw unreadable(text, what, "4000 gal/ac");
  return {amount: Number(match[1]), unit: (match[2] as string).toLowerCase() as ManureAmount["unit"]};
}

/** `"42 lb/1000 gal"` or `"6 lb/ton"`, of the oxide. @throws {FieldError} `units/not-a-quantity`. */
export function parseManureContent(text: string, what = "content of manure"): ManureContent {
  const match = /^\s*(\d+(?:\.\d+)?)\s*lb\s*\/\s*(\d+)?\s*(gal|ton)s?\s*$/i.exec(text);
  if (!match || Number(match[2] ?? 1) === 0) throw unreadable(text, what, "42 lb/1000 gal");
  return {
    lb: Number(match[1]),
    amount: Number(match[2] ?? 1),
    unit: (match[3] as string).toLowerCase() as ManureAmount["unit"],
  };
}

function unreadable(text: string, what: string, example: string): FieldError {
  return new FieldError("units/not-a-quantity", `"${text}" is not a ${what}.`, {
    hint: `Write a number and its unit, as in "${example}"; gal or ton.`,
  });
}
