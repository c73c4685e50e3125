import {FieldError} from "../errors.ts";
import type {LonLat, LonLatPolygon, LonLatRing} from "../geo/shapes.ts";

/** 1e-9 degree is a tenth of a millimetre: finer than any boundary, and the same number in every format. */
const DECIMALS = 9;

/** A coordinate as it is written in every file of a hand-over. */
export function settle(degrees: number): number {
  return Number(settledText(degrees));
}

/** The same as text: no exponent, no trailing zeros, no minus zero. */
export function settledText(degrees: number): string {
  if (!Number.isFinite(degrees)) throw new Error(`a coordinate of ${degrees} reached a writer`);
  const text = degrees.toFixed(DECIMALS).replace(/\.?0+$/, "");
  return text === "-0" ? "0" : text;
}

export function settlePosition([lon, lat]: LonLat): LonLat {
  return [settle(lon), settle(lat)];
}

/**
 * A polygon with rounded coordinates and without the corners that rounding made equal to the one before. Winding stays.
 *
 * @throws {FieldError} `export/collapsed` when nothing is left of the outer ring.
 */
export function settlePolygon(polygon: LonLatPolygon, what: string): LonLatPolygon {
  const rings = polygon.map(settleRing);
  const [outer, ...holes] = rings;
  if (!outer || outer.length < 4) {
    throw new FieldError("export/collapsed", `${what} is too small to write: its corners fall together.`, {
      hint: "Merge it with a neighbour.",
    });
  }
  return [outer, ...holes.filter((hole) => hole.length >= 4)];
}

function settleRing(ring: LonLatRing): LonLatRing {
  const out: LonLat[] = [];
  for (const position of ring) {
    const settled = settlePosition(position);
    const last = out.at(-1);
    if (!last || last[0] !== settled[0] || last[1] !== settled[1]) out.push(settled);
  }
  return out;
}
