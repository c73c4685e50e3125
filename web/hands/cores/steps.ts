import {say, unitSystem} from "../../units/shown.ts";
import type {LonLat} from "./moves.ts";

const METRES_PER_FOOT = 0.3048;

/** A way from where a core lies, metres. */
export interface Offset {
  readonly east: number;
  readonly north: number;
}

/** Steps that are offered, in metres. */
export const stepsOffered = (): readonly number[] =>
  unitSystem.value === "us" ? [1, 5, 20].map((feet) => feet * METRES_PER_FOOT) : [0.5, 2, 5];

/** "5 ft" */
export const sayStep = (metres: number): string => say(metres / METRES_PER_FOOT, "ft", {decimals: 1, short: true});

/** "10 ft north, 5 ft east"; empty where it is nowhere else. */
export function sayOffset({east, north}: Offset): string {
  const part = (metres: number, ahead: string, back: string): string[] =>
    Math.abs(metres) < 1e-6 ? [] : [`${sayStep(Math.abs(metres))} ${metres > 0 ? ahead : back}`];
  return [...part(north, "north", "south"), ...part(east, "east", "west")].join(", ");
}

/** The place so far from another. Degrees of a metre on WGS 84 at its latitude: exact to a millionth over a field. */
export function placeAt([lon, lat]: LonLat, {east, north}: Offset): LonLat {
  const phi = (lat * Math.PI) / 180;
  const w = Math.sqrt(1 - E2 * Math.sin(phi) ** 2);
  const perNorth = ((A * (1 - E2)) / w ** 3) * (Math.PI / 180);
  const perEast = ((A * Math.cos(phi)) / w) * (Math.PI / 180);
  return [rounded(lon + east / perEast), rounded(lat + north / perNorth)];
}

/** WGS 84: half the longer axis, and the square of the eccentricity. */
const A = 6_378_137;
const E2 = 0.006_694_379_990_14;

/** A tenth of a millimetre, as files hold places. */
const rounded = (degrees: number): number => Math.round(degrees * 1e9) / 1e9;
