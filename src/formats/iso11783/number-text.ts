// Numbers as XML's `xs:decimal` wants them: never with an exponent.

/** Degrees with 9 decimals, the most the format allows: a tenth of a millimetre. */
export function coordinateText(degrees: number): string {
  return fixed(degrees, 9);
}

/** A cell size in degrees; 15 decimals, so that a thousand cells end where they should. */
export function cellSizeText(degrees: number): string {
  return trimmed(fixed(degrees, 15));
}

/** A scale with nine digits that count. */
export function scaleText(scale: number): string {
  return trimmed(fixed(Number(scale.toPrecision(9)), 15));
}

function fixed(value: number, decimals: number): string {
  const text = value.toFixed(decimals);
  return Number(text) === 0 ? text.replace("-", "") : text;
}

function trimmed(text: string): string {
  return text.replace(/0+$/, "").replace(/\.$/, "");
}
