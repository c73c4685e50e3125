import {FieldError, withPlace} from "../errors.ts";
import {bytesOf, endingOf, type FileSet} from "../formats/file-set.ts";
import {findColumn} from "../formats/find-column.ts";
import {type GpxPlace, readGpx} from "../formats/read-gpx.ts";
import {readPoints} from "../formats/read-points.ts";
import {crsFromText} from "../geo/crs.ts";
import type {Field} from "../geo/field.ts";
import {columnsToPlane, toPlane} from "../geo/frame.ts";
import type {LoggedCore, LoggedSkip, TakenLog} from "../sampling/as-taken.ts";
import type {SamplingPlan} from "../sampling/plan.ts";
import {stopsOf} from "../sampling/track-stops.ts";
import type {Table} from "../table.ts";
import type {TakenFile} from "./job/taken.ts";
import type {Job} from "./job.ts";
import {type Remarks, readRows} from "./read-inputs.ts";

/**
 * The sampling logs of a job, one for each plan they are of.
 *
 * CSV: a row is a core, or a bag that was left out. GPX: waypoints are cores, named by the id of their bag or by id and
 * core (`KFG07-3`); names that are only a number are the receiver's own and no ids. A GPX without waypoints: halts of its
 * tracks are cores.
 *
 * @throws {FieldError} `taken/which-strategy`, `taken/no-columns`, `taken/no-times`, `taken/no-stops`, and what the
 *   readers refuse.
 */
export async function readTaken(
  job: Job,
  field: Field,
  plans: readonly SamplingPlan[],
  files: FileSet,
  remarks: Remarks,
): Promise<Map<SamplingPlan, TakenLog>> {
  const logs = new Map<SamplingPlan, TakenLog>();
  for (const source of job.sampling.taken?.files ?? []) {
    const log = isGpx(source.file, bytesOf(files, source.file))
      ? readGpxLog(field, plans, files, source, job.sampling.taken?.stopSeconds ?? 10, remarks)
      : await readCsvLog(field, files, source, remarks);
    for (const [plan, own] of sharedOut(source, log, plans)) {
      const before = logs.get(plan);
      logs.set(plan, {
        cores: [...(before?.cores ?? []), ...own.cores],
        skipped: [...(before?.skipped ?? []), ...own.skipped],
      });
    }
  }
  return logs;
}

function isGpx(name: string, bytes: Uint8Array): boolean {
  if (endingOf(name) === "gpx") return true;
  const start = String.fromCharCode(...bytes.subarray(0, 2000));
  return /<(\w+:)?gpx\b/.test(start);
}

/**
 * A log by the plans it is of: the plan named beside the file has all of it, none if that plan is not made in this run.
 * Else what has an id goes to the plan that has the id, and the rest to the plan that knows most of the ids.
 */
function sharedOut(
  {file, strategy}: TakenFile,
  log: TakenLog,
  plans: readonly SamplingPlan[],
): Map<SamplingPlan, TakenLog> {
  if (strategy !== undefined || plans.length === 1) {
    const named = strategy === undefined ? plans[0] : plans.find((plan) => plan.strategy === strategy);
    return new Map(named ? [[named, log]] : []);
  }
  const owners = new Map(plans.flatMap((plan) => bagIds(plan).map((id) => [id, plan] as const)));
  const ownerOf = ({sampleId}: {readonly sampleId?: string}): SamplingPlan | undefined =>
    sampleId === undefined ? undefined : owners.get(sampleId.trim().toUpperCase());
  const owned = [...log.cores, ...log.skipped].map(ownerOf);
  const counted = plans.map((plan) => ({plan, count: owned.filter((owner) => owner === plan).length}));
  const [best] = [...counted].sort((a, b) => b.count - a.count);
  if (!best || best.count === 0) {
    throw new FieldError("taken/which-strategy", `${file} does not say which plan it is of.`, {
      place: {file},
      hint: 'Name it beside the file, as in "strategy": "grid".',
    });
  }
  const shares = plans.map((plan): [SamplingPlan, TakenLog] => {
    const isOwn = (entry: {readonly sampleId?: string}): boolean => (ownerOf(entry) ?? best.plan) === plan;
    return [plan, {cores: log.cores.filter(isOwn), skipped: log.skipped.filter(isOwn)}];
  });
  return new Map(shares.filter(([, {cores, skipped}]) => cores.length + skipped.length > 0));
}

async function readCsvLog(field: Field, files: FileSet, source: TakenFile, remarks: Remarks): Promise<TakenLog> {
  const {file, x, y} = source;
  if (x === undefined || y === undefined) {
    throw new FieldError("taken/no-columns", `The columns of ${file} that hold positions are not named.`, {
      place: {file},
      hint: 'Give "x" and "y" beside it in the job, and "sampleId" where it has one.',
    });
  }
  const crs = source.crs === undefined ? undefined : await crsFromText(source.crs);
  const table = readRows(files, file, remarks);
  return withPlace({file}, () => {
    const cell = (heading: string | undefined): ((row: number) => string) => {
      if (heading === undefined) return () => "";
      const index = findColumn(table, heading);
      return (row) => (table.rows[row]?.[index] ?? "").trim();
    };
    const [idAt, coreAt, whyAt] = [cell(source.sampleId), cell(source.core), cell(source.skipped)];
    const isSkip = (row: number): boolean => whyAt(row) !== "" && idAt(row) !== "";
    const at = (row: number) => ({file, row: table.firstRow + row});
    const skipped = table.rows.flatMap((_, row): LoggedSkip[] =>
      isSkip(row) ? [{sampleId: idAt(row), why: whyAt(row), place: at(row)}] : [],
    );
    if (skipped.length === table.rows.length) return {cores: [], skipped};
    // Rows of bags that were left out need no place: readers pass over blank rows.
    const blank = table.header.map(() => "");
    const cored: Table = {...table, rows: table.rows.map((row, i) => (isSkip(i) ? blank : row))};
    const columns = source.time === undefined ? {} : {time: {column: source.time, as: "time" as const}};
    const {value, issues} = readPoints(cored, {x, y, crs, columns});
    remarks.push(...issues);
    const plane = columnsToPlane(field.frame, value.lon, value.lat);
    const cores = table.rows.flatMap((_, row): LoggedCore[] => {
      const [east, north] = [plane.x[row] as number, plane.y[row] as number];
      if (Number.isNaN(east)) return [];
      const id = splitId(idAt(row));
      const number = Number.parseInt(coreAt(row), 10);
      const timeS = value.numbers.time?.[row] ?? Number.NaN;
      return [
        {
          x: east,
          y: north,
          place: at(row),
          ...(idAt(row) !== "" && (Number.isNaN(number) ? id : {sampleId: idAt(row), core: number})),
          ...(!Number.isNaN(timeS) && {timeS}),
        },
      ];
    });
    return {cores, skipped};
  });
}

function readGpxLog(
  field: Field,
  plans: readonly SamplingPlan[],
  files: FileSet,
  {file}: TakenFile,
  stopSeconds: number,
  remarks: Remarks,
): TakenLog {
  const {value, issues} = readGpx(bytesOf(files, file), file);
  remarks.push(...issues);
  if (value.waypoints.length > 0) {
    const known = new Set(plans.flatMap(bagIds));
    const cores = value.waypoints.map(({position, name, timeS, number}): LoggedCore => {
      // A receiver numbers what the crew does not name.
      const named = name !== "" && (known.has(name.toUpperCase()) || !/^\d+$/.test(name));
      return {
        ...toPlane(field.frame, position),
        place: {file, featureId: name || `waypoint ${number}`},
        ...(named && (known.has(name.toUpperCase()) ? {sampleId: name} : splitId(name))),
        ...(!Number.isNaN(timeS) && {timeS}),
      };
    });
    return {cores, skipped: []};
  }
  const tracks: readonly (readonly GpxPlace[])[] = value.tracks;
  const timed = tracks.map((points) => points.filter(({timeS}) => !Number.isNaN(timeS)));
  if (timed.every((points) => points.length === 0)) {
    throw new FieldError("taken/no-times", `${file} has no waypoints, and its track has no times.`, {
      place: {file},
      hint: "Export the waypoints, or the track with its times.",
    });
  }
  const stops = timed.flatMap((points) =>
    stopsOf(
      points.map(({position, timeS}) => ({...toPlane(field.frame, position), timeS})),
      stopSeconds,
    ),
  );
  if (stops.length === 0) {
    throw new FieldError("taken/no-stops", `The track of ${file} never stands still for ${stopSeconds} s.`, {
      place: {file},
      hint: 'Give "stopSeconds" a smaller number, or export waypoints.',
    });
  }
  remarks.push({
    code: "taken/from-track",
    severity: "note",
    message: `${stops.length} halts of ${stopSeconds} s or more on the track of ${file} were taken for cores.`,
    place: {file},
    hint: "Mark each core as a waypoint next time: a halt is not proof of a core.",
  });
  return {
    cores: stops.map(({x, y, timeS}, i) => ({x, y, timeS, place: {file, featureId: `halt ${i + 1}`}})),
    skipped: [],
  };
}

function bagIds({units, duplicates = []}: SamplingPlan): string[] {
  return [...units, ...duplicates].map(({id}) => id);
}

/** `KFG07-3` is the third core of `KFG07`. */
function splitId(name: string): {sampleId: string; core?: number} {
  const match = /^(.+?)-(\d{1,3})$/.exec(name.trim());
  return match ? {sampleId: match[1] as string, core: Number(match[2])} : {sampleId: name.trim()};
}
