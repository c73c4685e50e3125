import type {AttachAs} from "../api/types.ts";
import {choicesOf, jobShape, type Shape} from "../stations/job-schema.ts";
import {isMapped} from "./mapping.ts";

/** Everything a file can be to a field, in the order it is offered. */
export const ALL: readonly AttachAs[] = [
  "yield",
  "soil map",
  "elevation",
  "lab",
  "raster",
  "points",
  "zones",
  "keep-out",
  "setback",
  "boundary",
];

export const NAMES: Readonly<Record<AttachAs, string>> = {
  yield: "a yield log",
  "soil map": "the soil map",
  elevation: "elevation",
  lab: "a lab report",
  raster: "a raster layer",
  points: "measured points",
  zones: "zones drawn elsewhere",
  "keep-out": "ground to keep cores out of",
  setback: "a setback",
  boundary: "the boundary",
};

/** Where each stands in the schema of a job. */
const PATHS: Readonly<Record<AttachAs, readonly string[]>> = {
  yield: ["layers", "yield"],
  "soil map": ["layers", "soilMap"],
  elevation: ["layers", "elevation"],
  raster: ["layers", "rasters"],
  points: ["layers", "points"],
  lab: ["lab", "files"],
  "keep-out": ["sampling", "keepOuts"],
  setback: ["setbacks"],
  zones: ["zones", "import"],
  boundary: ["field", "boundary"],
};

/** Asked of every such file beside what it cannot do without. */
const USUAL: Partial<Record<AttachAs, readonly string[]>> = {
  yield: ["delay", "headerWidth"],
  lab: ["depth"],
  elevation: ["unit"],
  raster: ["label", "unit", "theme"],
  points: ["label", "unit"],
  "keep-out": ["kind", "distance"],
  setback: ["name", "kind", "distance", "rate"],
};

/** Shown before all others, with where it is from. */
const IN_PLAIN_SIGHT: Partial<Record<AttachAs, readonly string[]>> = {yield: ["crop", "season"]};

/** Set by the map of columns where the file has any. */
const BY_COLUMNS = ["columns", "sampleId", "x", "y", "column", "analytes"];

/** The settings of a file as a shape to make a form of: those that matter, and the rest. */
export function settingsShape(as: AttachAs, set: readonly string[], hasColumns: boolean): {main: Shape; more: Shape} {
  const shape = objectAt(as);
  const skipped = ["file", ...(IN_PLAIN_SIGHT[as] ?? []), ...(hasColumns && isMapped(as) ? BY_COLUMNS : [])];
  const keys = Object.keys(shape.properties ?? {}).filter((key) => !skipped.includes(key));
  const first = [...(USUAL[as] ?? []), ...(shape.required ?? []), ...set].filter((key) => keys.includes(key));
  const pick = (of: readonly string[]): Shape => ({
    ...shape,
    properties: Object.fromEntries(of.map((key) => [key, shape.properties?.[key] ?? {}])),
  });
  return {main: pick([...new Set(first)]), more: pick(keys.filter((key) => !first.includes(key)))};
}

/** What the schema says a file of this kind needs and the settings do not have; empty when they have all. */
export function missingIn(as: AttachAs, settings: Readonly<Record<string, unknown>>): readonly string[] {
  return (objectAt(as).required ?? []).filter((key) => key !== "file" && isEmpty(settings[key]));
}

const isEmpty = (value: unknown): boolean => value === undefined || value === "";

function objectAt(as: AttachAs): Shape {
  let at: Shape = jobShape.value ?? {};
  for (const key of PATHS[as]) at = at.properties?.[key] ?? {};
  const one = at.items ?? at;
  return one.properties ? one : (choicesOf(one)?.find(({properties}) => properties) ?? {});
}
