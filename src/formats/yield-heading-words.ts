import {isUnitOf, type Quantity, unitInHeading} from "./quantities.ts";

/** What a column of a yield log holds. */
export type YieldRole =
  | "x"
  | "y"
  | "time"
  | "flow"
  | "mass"
  | "distance"
  | "interval"
  | "swath"
  | "moisture"
  | "speed"
  | "yield"
  | "header"
  | "pass"
  | "machine";

/** What each role measures, in the words of a question, and which units are usual for it. */
export const YIELD_ROLES: Readonly<
  Record<YieldRole, {readonly means: string; readonly quantity?: Quantity; readonly units: readonly string[]}>
> = {
  x: {means: "longitude or easting", units: []},
  y: {means: "latitude or northing", units: []},
  time: {means: "time", quantity: "time", units: ["s", "ms", "h:m:s", "y-m-d", "m/d/y", "d/m/y"]},
  flow: {means: "grain flow", quantity: "mass flow", units: ["lb/s", "kg/s", "t/h"]},
  mass: {means: "grain of the record", quantity: "mass", units: ["lb", "kg"]},
  distance: {means: "distance since the record before", quantity: "length", units: ["ft", "in", "m", "cm"]},
  interval: {means: "seconds a record covers", quantity: "time", units: ["s", "ms"]},
  swath: {means: "header width", quantity: "length", units: ["ft", "in", "m", "cm"]},
  moisture: {means: "grain moisture", quantity: "percent", units: ["%", "fraction"]},
  speed: {means: "speed", quantity: "speed", units: ["mph", "km/h", "m/s", "ft/s"]},
  yield: {means: "yield", quantity: "yield", units: ["bu/ac", "lb/ac", "t/ha", "kg/ha"]},
  header: {means: "header state", units: []},
  pass: {means: "pass number", units: []},
  machine: {means: "machine", units: []},
};

/** What the words of one heading say; each part only where its words are there. */
export interface YieldHeading {
  readonly role: YieldRole;
  readonly unit?: string;
  /** Of a yield: at the moisture of harvest, or at a standard one. */
  readonly moisture?: "wet" | "dry";
}

/**
 * Reads one heading of a yield log: what the column holds, and its unit where that is written, in brackets
 * (`Flow (lb/s)`), after the words (`flow_lb_s`, `Swath ft`) or as a spelled-out word. Undefined for columns cleaning
 * has no use for.
 *
 * The words are the trade's own; no product's headings are listed.
 */
export function readYieldHeading(heading: string): YieldHeading | undefined {
  const bracketed = unitInHeading(heading);
  const bare = bracketed && heading.slice(0, heading.lastIndexOf(bracketed)).replace(/[([]\s*$/, "");
  const before = bare ? roleOf(wordsOf(bare)) : undefined;
  if (before && bracketed) {
    const unit = spelled(bracketed);
    if (fits(before.role, unit)) return {...before, unit};
  }
  const words = wordsOf(heading);
  for (let n = Math.min(4, words.length - 1); n >= 1; n--) {
    const found = roleOf(words.slice(0, -n));
    const unit = spelled(words.slice(-n).join(" "));
    if (found && fits(found.role, unit)) return {...found, unit};
  }
  // What stands in brackets and is no unit for it leaves the role, and the unit to be asked for.
  return roleOf(words) ?? before;
}

function fits(role: YieldRole, unit: string): boolean {
  const {quantity} = YIELD_ROLES[role];
  return quantity !== undefined && isUnitOf(quantity, unit);
}

/** Lower-case words; a capital within a word begins a new one, as in `gpsTime`. */
function wordsOf(text: string): string[] {
  return text
    .replace(/([a-z])([A-Z])/g, "$1 $2")
    .toLowerCase()
    .replace(/[^\p{L}\p{N}%/°²]+/gu, " ")
    .trim()
    .split(" ")
    .filter((word) => word !== "");
}

/** A unit as the table of quantities spells it: "lb per sec", "lbs s" and "lb/s" are one. */
function spelled(text: string): string {
  const plain = text
    .toLowerCase()
    .trim()
    .replace(/\s+per\s+|\s*\/\s*/g, "/");
  return SPELLINGS[plain] ?? plain;
}

const SPELLINGS: Readonly<Record<string, string>> = {
  ...units("lb/s", ["lb s", "lbs s", "lb sec", "lbs sec", "lb/sec", "lbs/sec", "pounds/second", "pounds s"]),
  ...units("kg/s", ["kg s", "kg sec", "kg/sec", "kilograms/second"]),
  ...units("t/h", ["t h", "t/hr", "t hr", "tonnes/hour", "tonnes h"]),
  ...units("bu/ac", ["bu ac", "bu/a", "bu acre", "bushels/acre", "bushels acre", "bu/acre"]),
  ...units("lb/ac", ["lb ac", "lbs ac", "lb acre", "lbs acre", "lbs/acre", "pounds/acre"]),
  ...units("t/ha", ["t ha", "tonnes/ha", "tonnes ha", "tonnes/hectare"]),
  ...units("kg/ha", ["kg ha", "kg/hectare"]),
  ...units("m/s", ["m s", "m/sec", "metres/second", "meters/second"]),
  ...units("km/h", ["km h", "kmh", "km/hr", "kmph"]),
  ...units("mph", ["mi h", "mi/h", "miles/hour", "miles h"]),
  ...units("ft/s", ["ft s", "ft/sec", "feet/second"]),
  ...units("s", ["secs", "second"]),
  ...units("ms", ["millis", "milliseconds"]),
  ...units("lb", ["pound", "pounds"]),
  ...units("kg", ["kilogram", "kilograms"]),
};

function units(unit: string, spellings: readonly string[]): Record<string, string> {
  return Object.fromEntries(spellings.map((spelling) => [spelling, unit]));
}

function roleOf(words: readonly string[]): YieldHeading | undefined {
  const plain = ROLE_WORDS[words.join(" ")];
  if (plain) return {role: plain};
  const wet = words.includes("wet") || words.includes("harvested");
  const rest = words.filter((word) => !YIELD_NOISE.has(word)).join(" ");
  if (ROLE_WORDS[rest] !== "yield") return undefined;
  return {role: "yield", ...(wet ? {moisture: "wet"} : words.includes("dry") ? {moisture: "dry"} : {})};
}

/** Words beside "yield" that do not make it another column. */
const YIELD_NOISE = new Set(["dry", "wet", "harvested", "mass", "volume", "vol", "weight", "grain", "crop", "est"]);

const ROLE_WORDS: Readonly<Record<string, YieldRole>> = {
  ...role("x", ["x", "lon", "long", "lng", "longitude", "gps longitude", "easting", "utm easting", "utm x"]),
  ...role("y", ["y", "lat", "latitude", "gps latitude", "northing", "utm northing", "utm y"]),
  ...role("time", ["time", "gps time", "utc", "utc time", "local time", "time of day", "timestamp", "time stamp"]),
  ...role("time", ["date time", "datetime", "date and time", "clock", "clock time", "log time"]),
  ...role("flow", ["flow", "flow rate", "grain flow", "grain flow rate", "mass flow", "mass flow rate", "crop flow"]),
  ...role("mass", ["mass", "grain mass", "wet mass", "weight", "grain weight", "wet weight", "mass wet"]),
  ...role("distance", ["distance", "dist", "distance travelled", "distance traveled", "distance driven"]),
  ...role("distance", ["travel distance", "dist travelled", "dist traveled", "record distance", "step length"]),
  ...role("interval", ["interval", "log interval", "logging interval", "time interval", "record interval"]),
  ...role("interval", ["duration", "cycle", "cycle time", "time step", "record time"]),
  ...role("swath", ["swath", "swath width", "width", "header width", "cutting width", "cut width", "working width"]),
  ...role("moisture", ["moisture", "moist", "grain moisture", "crop moisture", "moisture content", "water content"]),
  ...role("speed", ["speed", "ground speed", "gps speed", "travel speed", "driving speed", "velocity"]),
  ...role("yield", ["yield", "yld", "grain yield", "crop yield"]),
  ...role("header", ["header", "head", "header state", "header status", "header position", "header down"]),
  ...role("header", ["working state", "work state", "working", "cutting"]),
  ...role("pass", ["pass", "pass number", "pass no", "pass num", "pass id"]),
  ...role("machine", ["machine", "machine id", "machine number", "machine no", "combine", "combine id"]),
  ...role("machine", ["combine number", "combine no", "harvester"]),
};

function role(name: YieldRole, spellings: readonly string[]): Record<string, YieldRole> {
  return Object.fromEntries(spellings.map((spelling) => [spelling, name]));
}
