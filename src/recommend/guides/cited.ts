import {METRES_PER_INCH} from "../../units/factors.ts";
import type {Cited, TestNeed} from "../guide.ts";

/** A number that was seen in print. */
export const printed = (value: number, note?: string): Cited => ({value, basis: "printed", ...(note && {note})});

/** A number from memory, to be checked against the bulletin. */
export const remembered = (value: number, note?: string): Cited => ({value, basis: "from memory", ...(note && {note})});

/** A sampling depth from the surface; half an inch either way lets whole centimetres pass. */
export function sampledTo(inches: number): Pick<TestNeed, "depthM" | "depthLabel"> {
  return {
    depthM: [(inches - 0.5) * METRES_PER_INCH, (inches + 0.5) * METRES_PER_INCH],
    depthLabel: `0 to ${inches} in`,
  };
}

/** The usual unit of a soil test. */
export const PPM = {unit: "mg/kg", unitLabel: "ppm"} as const;
