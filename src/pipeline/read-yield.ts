import {FieldError, withPlace} from "../errors.ts";
import type {FileSet} from "../formats/file-set.ts";
import {headerState} from "../formats/header-state.ts";
import {columnsToPaste, proposeYieldColumns} from "../formats/propose-yield-columns.ts";
import {type PointColumn, readPoints} from "../formats/read-points.ts";
import {crsFromText} from "../geo/crs.ts";
import type {Field} from "../geo/field.ts";
import {columnsToPlane} from "../geo/frame.ts";
import type {YieldLog} from "../layers/yield-log.ts";
import type {Table} from "../table.ts";
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
  const {crop, season} = source;
  const columns = source.columns ?? proposed(table, remarks);
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
  want("massKg", columns.mass, "mass");
  want("distanceM", columns.distance, "length");
  want("intervalS", columns.interval, "time");
  want("swathM", columns.swath, "length");
  want("moisturePct", columns.moisture, "percent");
  want("speedMPerS", columns.speed, "speed");
  want("givenYieldTPerHa", columns.yield, "yield");
  want("pass", columns.pass, "number");
  want("header", columns.header, "text");
  want("machine", columns.machine, "text");
  if (typeof crop !== "string") want("crop", crop.column, "text");
  if (typeof season !== "number") want("season", season.column, "text");
  const crs = source.crs === undefined ? undefined : await crsFromText(source.crs);
  const points = withPlace({file: source.file}, () =>
    readPoints(table, {x: columns.x, y: columns.y, crs, columns: wanted, poundsPerBushel: bushelPounds}),
  );
  remarks.push(...points.issues);
  const {lon, lat} = points.value;
  const {x, y} = columnsToPlane(field.frame, lon, lat);
  const {header, machine} = points.value.texts;
  const all = {
    x,
    y,
    ...(points.value.numbers as Record<string, Float64Array>),
    ...(header && {headerDown: withPlace({file: source.file}, () => headerStates(header, columns.header ?? ""))}),
    ...(machine && {machine: numbered(machine)}),
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

/** Header states as 1 and 0. Codes that cannot be read are asked about, not guessed at. */
function headerStates(texts: readonly string[], column: string): Float64Array {
  const states = new Float64Array(texts.length);
  const unknown = new Set<string>();
  const known = new Map<string, number>();
  for (let i = 0; i < states.length; i++) {
    const text = texts[i] as string;
    let state = known.get(text);
    if (state === undefined) {
      state = headerState(text);
      if (state === undefined) unknown.add(text);
      else known.set(text, state);
    }
    states[i] = state ?? Number.NaN;
  }
  if (unknown.size > 0) {
    const some = [...unknown].slice(0, 5).join(", ");
    throw new FieldError("yield/header-states", `Column "${column}" has header states that cannot be read: ${some}.`, {
      place: {column},
      hint: "Leave the column out, or write the states as up and down.",
    });
  }
  return states;
}

/** Machines by number: their own where all have one, else in order of their names. */
function numbered(names: readonly string[]): Float64Array {
  const different = [...new Set(names)].sort();
  const numbers = new Map(different.map((name, i) => [name, /^\d{1,9}$/.test(name) ? Number(name) : i + 1]));
  const own = new Set(numbers.values()).size === different.length;
  return Float64Array.from(names, (name) => (own ? (numbers.get(name) as number) : different.indexOf(name) + 1));
}

const SAMPLE_ROWS = 500;

/** Columns told by their headings; a remark says which. @throws {FieldError} `yield/columns-unclear`. */
function proposed(table: Table, remarks: Remarks): NonNullable<YieldFile["columns"]> {
  const every = Math.max(1, Math.floor(table.rows.length / SAMPLE_ROWS));
  const proposal = proposeYieldColumns(
    table.header,
    table.rows.filter((_, i) => i % every === 0),
  );
  const {questions, taken, passedOver} = proposal;
  if (questions.length > 0) {
    throw new FieldError("yield/columns-unclear", questions.map(({message}) => message).join(" "), {
      place: {file: table.file},
      hint: `Put this in the job with one choice each: ${columnsToPaste(proposal)}.`,
      issues: questions.map(({message, choices}) => ({
        code: "yield/column-unclear",
        severity: "error",
        message: `${message} Choices: ${choices.join(", ")}.`,
        place: {file: table.file},
      })),
    });
  }
  remarks.push({
    code: "yield/columns-by-heading",
    severity: "note",
    message:
      `Columns of ${table.file} were told by their headings: ${taken.join(", ")}` +
      (passedOver.length > 0 ? `; passed over: ${passedOver.join(", ")}.` : "."),
    place: {file: table.file},
    hint: `Fix them in the job if one is wrong: ${columnsToPaste(proposal)}.`,
  });
  return proposal.columns as NonNullable<YieldFile["columns"]>;
}
