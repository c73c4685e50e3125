import {say} from "../units/shown.ts";

export interface LonLat {
  readonly lon: number;
  readonly lat: number;
}

/** From where someone stands to where they want to be. */
export interface Way {
  readonly metres: number;
  /** Of the first step, clockwise from north, 0 to 360; 0 where there is nowhere to go. */
  readonly degrees: number;
}

/** Mean radius of the earth (IUGG), metres: within 0.3 % of the ellipsoid, which is less than a phone knows. */
const RADIUS_M = 6_371_008.8;
const METRES_PER_FOOT = 0.3048;
const FEET_PER_MILE = 5280;
const POINTS = ["north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west"] as const;

/** The shortest way over a sphere, by the haversine formula. Degrees in. */
export function wayTo(from: LonLat, to: LonLat): Way {
  const radians = Math.PI / 180;
  const [a, b] = [from.lat * radians, to.lat * radians];
  const [up, across] = [b - a, (to.lon - from.lon) * radians];
  const h = Math.sin(up / 2) ** 2 + Math.cos(a) * Math.cos(b) * Math.sin(across / 2) ** 2;
  const [east, north] = [
    Math.sin(across) * Math.cos(b),
    Math.cos(a) * Math.sin(b) - Math.sin(a) * Math.cos(b) * Math.cos(across),
  ];
  return {
    metres: 2 * RADIUS_M * Math.asin(Math.min(1, Math.sqrt(h))),
    degrees: (Math.atan2(east, north) / radians + 360) % 360,
  };
}

/** "230 ft north-east", in the user's units; a mile and more in miles. */
export function sayWay({metres, degrees}: Way): string {
  const feet = metres / METRES_PER_FOOT;
  const length = feet < FEET_PER_MILE ? say(feet, "ft") : say(feet / FEET_PER_MILE, "mi");
  return `${length} ${POINTS[Math.round(degrees / 45) % POINTS.length]}`;
}
