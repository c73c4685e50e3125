import type {AttachAs, SourceCard, SourceColumn} from "../api/types.ts";
import type {Settings} from "./answers.ts";

// Which column of a table holds what, as the settings of a file say it: read out of them, and written back.

/** What one column holds: a role of a yield log, an analyte, "sample id", "x", "y" or "value". */
export interface Held {
  readonly is: string;
  readonly unit?: string | undefined;
  readonly method?: string | undefined;
}

type Analyte = {readonly analyte: string; readonly column: string; readonly unit?: string; readonly method?: string};

/** Whether columns of a file taken for this are told by hand. */
export const isMapped = (as: AttachAs | undefined): as is "yield" | "lab" | "points" =>
  as === "yield" || as === "lab" || as === "points";

/** By heading. Where the settings do not say, as the file was read. */
export function heldBy(as: AttachAs, settings: Settings, columns: readonly SourceColumn[]): ReadonlyMap<string, Held> {
  if (as === "yield") {
    if (settings.columns === undefined) return asRead(columns);
    const roles = Object.entries(settings.columns as Settings).map(([is, held]): [string, Held] =>
      typeof held === "string" ? [held, {is}] : [columnOf(held), {is, unit: (held as {unit?: string}).unit}],
    );
    return new Map(roles);
  }
  const places = ["x", "y"].flatMap((is): [string, Held][] => (settings[is] ? [[String(settings[is]), {is}]] : []));
  if (as === "points") {
    return new Map([...places, ...(settings.column ? [[String(settings.column), {is: "value"}] as const] : [])]);
  }
  const found = new Map(settings.analytes === undefined ? asRead(columns) : []);
  for (const {analyte, column, unit, method} of (settings.analytes ?? []) as readonly Analyte[]) {
    found.set(column, {is: analyte, unit, method});
  }
  for (const [column, held] of places) found.set(column, held);
  if (settings.sampleId) found.set(String(settings.sampleId), {is: SAMPLE_ID});
  return found;
}

/** The settings with one column holding something else, or nothing. A role that only one column can have moves to it. */
export function holding(
  as: AttachAs,
  settings: Settings,
  columns: readonly SourceColumn[],
  heading: string,
  held: Held | undefined,
): Settings {
  const map = new Map(heldBy(as, settings, columns));
  map.delete(heading);
  if (held) {
    for (const [other, {is}] of map) if (is === held.is) map.delete(other);
    map.set(heading, held);
  }
  const at = (is: string): string | undefined => [...map].find(([, one]) => one.is === is)?.[0];
  if (as === "yield") {
    const roles = [...map].map(([column, {is, unit}]) => [is, unit ? {column, unit} : column] as const);
    return {...settings, columns: Object.fromEntries(roles)};
  }
  const {x: _x, y: _y, column: _c, sampleId: _s, analytes: _a, answers, ...others} = settings;
  const found = {x: at("x"), y: at("y"), column: at("value"), sampleId: at(SAMPLE_ID)};
  const named = Object.fromEntries(Object.entries(found).filter(([, column]) => column !== undefined));
  if (as === "points") return {...others, ...named};
  const analytes = [...map].flatMap(([column, {is, unit, method}]) =>
    is === SAMPLE_ID || is === "x" || is === "y"
      ? []
      : [{analyte: is, column, ...(unit && {unit}), ...(method && {method})}],
  );
  return {
    ...others,
    ...named,
    ...(analytes.length > 0 && {analytes}),
    ...(analytes.length === 0 && answers ? {answers} : {}),
  };
}

/** What has still to be said of the columns before the file can be read, in words; empty when nothing has. */
export function stillOpen(as: AttachAs, settings: Settings, columns: readonly SourceColumn[]): string {
  const held = [...heldBy(as, settings, columns)];
  const has = (...roles: string[]): boolean => held.some(([, {is}]) => roles.includes(is));
  if (as === "yield") {
    if (!has("x") || !has("y")) return "A yield log needs the columns of longitude and latitude.";
    if (!has("flow", "mass", "yield")) return "A yield log needs a column of grain flow, grain of the record or yield.";
  }
  if (as === "points") {
    if (!has("x") || !has("y")) return "Points need the columns of longitude and latitude.";
    if (!has("value")) return "Say which column holds what was measured.";
  }
  if (as === "lab" && settings.analytes !== undefined) {
    const part = held.find(([, {is, unit, method}]) => !PLACES.includes(is) && !(unit && method));
    if (part) return `Say unit and method of "${part[0]}".`;
    if (!has(SAMPLE_ID) && !(has("x") && has("y"))) return "Say which column holds the sample id.";
  }
  return "";
}

/** Whether the settings answer a question of the file by now. */
export function isSettled(
  {about, role, column}: NonNullable<SourceCard["questions"]>[number],
  as: AttachAs,
  settings: Settings,
): boolean {
  if (as === "yield") {
    const roles = (settings.columns ?? {}) as Settings;
    if (about === "measure") return ["flow", "mass", "yield"].some((one) => roles[one] !== undefined);
    const held = roles[role ?? ""];
    return about === "unit" ? typeof held === "object" : held !== undefined;
  }
  if (as === "keep-out" && about === "distance") return hasDistance(settings);
  if (as !== "lab") return settings[about] !== undefined;
  if (about === "depth") return settings.depth !== undefined;
  if (about === "sample id")
    return settings.sampleId !== undefined || (settings.x !== undefined && settings.y !== undefined);
  const analytes = settings.analytes as readonly Analyte[] | undefined;
  if (!analytes) return false;
  const mine = analytes.find((one) => one.column === column);
  return mine === undefined || mine[about as "unit" | "method"] !== undefined;
}

/** Whether it is said how far cores keep from a thing, or what it is, for which there is a usual distance. */
export const hasDistance = ({distance, kind}: Settings): boolean => distance !== undefined || kind !== undefined;

export const SAMPLE_ID = "sample id";
const PLACES: readonly string[] = [SAMPLE_ID, "x", "y"];

const columnOf = (held: unknown): string => (held as {column: string}).column;

function asRead(columns: readonly SourceColumn[]): Map<string, Held> {
  return new Map(
    columns.flatMap(({heading, is, unit, method}) =>
      is === undefined ? [] : [[heading, {is, unit, method}] as const],
    ),
  );
}
