import {FieldError, withPlace} from "../errors.ts";
import type {FileSet} from "../formats/file-set.ts";
import {type PointColumn, readPoints} from "../formats/read-points.ts";
import {crsFromText} from "../geo/crs.ts";
import type {Field} from "../geo/field.ts";
import {columnsToPlane} from "../geo/frame.ts";
import type {YieldLog} from "../layers/yield-log.ts";
import {BUSHEL} from "../units/factors.ts";
import type {ColumnChoice, YieldFile} from "./job.ts";
import {type Remarks, readRows} from "./read-inputs.ts";

/** One season's log and, where crops differ within it, the crop of each record. */
export interface SeasonLog {
  readonly log: YieldLog;
  readonly groups?: readonly string[];
}

/** The logs in one yield file: one, or one for each year in its column of years. */
export async function readYield(
  field: Field,
  files: FileSet,
  source: YieldFile,
  remarks: Remarks,
): Promise<readonly SeasonLog[]> {
  const table = readRows(files, source.file, remarks);
  const {columns, crop, season} = source;
  const name = source.file.split("/").at(-1) as string;
  const cropName = typeof crop === "string" ? crop : "grain";
  const usual = Object.hasOwn(BUSHEL, cropName) ? BUSHEL[cropName as keyof typeof BUSHEL] : undefined;
  const bushelPounds = source.bushelWeight ?? usual?.pounds;
  const wanted: Record<string, PointColumn> = {};
  const want = (key: string, choice: ColumnChoice | undefined, as: PointColumn["as"]): void => {
    if (choice === undefined) return;
    wanted[key] = {...(typeof choice === "string" ? {column: choice} : choice), as};
  };
  want("timeS", columns.time, "time");
  want("flowKgPerS", columns.flow, "mass flow");
  want("distanceM", columns.distance, "length");
  want("intervalS", columns.interval, "time");
  want("swathM", columns.swath, "length");
  want("moisturePct", columns.moisture, "percent");
  want("speedMPerS", columns.speed, "speed");
  want("givenYieldTPerHa", columns.yield, "yield");
  want("pass", columns.pass, "number");
  want("header", columns.header, "text");
  if (typeof crop !== "string") want("crop", crop.column, "text");
  if (typeof season !== "number") want("season", season.column, "text");
  const crs = source.crs === undefined ? undefined : await crsFromText(source.crs);
  const points = withPlace({file: source.file}, () =>
    readPoints(table, {x: columns.x, y: columns.y, crs, columns: wanted, poundsPerBushel: bushelPounds}),
  );
  remarks.push(...points.issues);
  const {lon, lat} = points.value;
  const {x, y} = columnsToPlane(field.frame, lon, lat);
  const header = points.value.texts.header;
  const all = {
    x,
    y,
    ...(points.value.numbers as Record<string, Float64Array>),
    ...(header && {headerDown: withPlace({file: source.file}, () => headerStates(header, columns.header ?? ""))}),
  };
  const groups = points.value.texts.crop;
  const seasons = withPlace({file: source.file}, () => seasonsOf(season, points.value.texts.season));
  return seasons.map(({year, rows}) => ({
    log: {
      id: typeof season === "number" ? name : `${name} ${year}`,
      crop: cropName,
      season: year,
      bushelPounds: bushelPounds ?? BUSHEL.corn.pounds,
      standardMoisturePct: source.standardMoisture ?? usual?.moisturePct ?? 0,
      ...(mapColumns(all, rows) as {x: Float64Array; y: Float64Array}),
    },
    ...(groups && {groups: rows ? rows.map((row) => groups[row] as string) : groups}),
  }));
}

function seasonsOf(
  season: YieldFile["season"],
  years: readonly string[] | undefined,
): {year: number; rows?: readonly number[]}[] {
  if (typeof season === "number") return [{year: season}];
  const rowsByYear = new Map<number, number[]>();
  years?.forEach((text, row) => {
    const year = /^\d{4}$/.test(text) ? Number(text) : Number.NaN;
    if (Number.isNaN(year)) return;
    const rows = rowsByYear.get(year);
    if (rows) rows.push(row);
    else rowsByYear.set(year, [row]);
  });
  if (rowsByYear.size === 0) {
    throw new FieldError("yield/no-season", `Column "${season.column}" holds no year.`, {
      place: {column: season.column},
      hint: "Name the column with the year of harvest, or give the season as a number.",
    });
  }
  return [...rowsByYear].sort(([a], [b]) => a - b).map(([year, rows]) => ({year, rows}));
}

function mapColumns(columns: Record<string, Float64Array>, rows: readonly number[] | undefined): object {
  if (!rows) return columns;
  return Object.fromEntries(
    Object.entries(columns).map(([key, values]) => [key, Float64Array.from(rows, (row) => values[row] as number)]),
  );
}

const WORKING = /^(1(\.0*)?|down|on|true|yes|working|lowered)$/i;
const IDLE = /^(0(\.0*)?|up|off|false|no|idle|raised)$/i;

/** Header states as 1 and 0. Codes that cannot be read are asked about, not guessed at. */
function headerStates(texts: readonly string[], column: string): Float64Array {
  const unknown = new Set(texts.filter((text) => text !== "" && !WORKING.test(text) && !IDLE.test(text)));
  if (unknown.size > 0) {
    const some = [...unknown].slice(0, 5).join(", ");
    throw new FieldError("yield/header-states", `Column "${column}" has header states that cannot be read: ${some}.`, {
      place: {column},
      hint: "Leave the column out, or write the states as up and down.",
    });
  }
  return Float64Array.from(texts, (text) => (text === "" ? Number.NaN : WORKING.test(text) ? 1 : 0));
}
