import {FieldError} from "../errors.ts";
import type {FileSet} from "../formats/file-set.ts";
import type {Feature} from "../geo/features.ts";
import type {Field} from "../geo/field.ts";
import {multiPolygonToPlane, toPlane} from "../geo/frame.ts";
import {boxOf} from "../geo/measure.ts";
import type {LonLat, MultiPolygon, XY} from "../geo/shapes.ts";
import type {DirectedPoint} from "../sampling/by-points.ts";
import {type Drawn, type KeepOut, makeKeepOut, USUAL_DISTANCES} from "../sampling/keep-outs.ts";
import type {EarlierUnit} from "../sampling/repeat-plan.ts";
import {formatLength} from "../units/format.ts";
import type {Job} from "./job.ts";
import {type Remarks, readVector} from "./read-inputs.ts";

type Sampling = Job["sampling"];
type Source = Pick<NonNullable<Sampling["keepOuts"]>[number], "file" | "layer" | "crs" | "only">;
type Repeat = NonNullable<Sampling["grid"]["repeat"]>;

/** What the plans of a job need from files. */
export interface SamplingGround {
  readonly keepOuts: readonly KeepOut[];
  readonly gate?: XY;
  readonly points?: readonly DirectedPoint[];
  readonly earlier: {
    readonly wholeField?: readonly EarlierUnit[];
    readonly grid?: readonly EarlierUnit[];
    readonly zone?: readonly EarlierUnit[];
  };
}

/**
 * Reads keep-outs, gate, own points and earlier plans.
 *
 * @throws {FieldError} `sampling/keep-out`, `sampling/gate`, `sampling/points`, `sampling/repeat`, and what the readers
 *   refuse.
 */
export async function readSamplingFiles(
  job: Job,
  field: Field,
  files: FileSet,
  remarks: Remarks,
): Promise<SamplingGround> {
  const {gate, grid, wholeField, zone} = job.sampling;
  const grounds = await readKeepOuts(job, field, files, remarks);
  const earlier = async (repeat: Repeat | undefined) =>
    repeat ? await readEarlier(field, files, repeat, remarks) : undefined;
  const [wholeFieldBefore, gridBefore, zoneBefore] = [
    await earlier(wholeField.repeat),
    await earlier(grid.repeat),
    await earlier(zone.repeat),
  ];
  return {
    keepOuts: grounds,
    ...(gate && {gate: await readGate(field, files, gate, remarks)}),
    ...(grid.points && {points: await readOwnPoints(field, files, grid.points, remarks)}),
    earlier: {
      ...(wholeFieldBefore && {wholeField: wholeFieldBefore}),
      ...(gridBefore && {grid: gridBefore}),
      ...(zoneBefore && {zone: zoneBefore}),
    },
  };
}

/** The job's keep-outs in the order it lists them, each with its distance around it. */
export async function readKeepOuts(job: Job, field: Field, files: FileSet, remarks: Remarks): Promise<KeepOut[]> {
  const grounds: KeepOut[] = [];
  for (const source of job.sampling.keepOuts ?? []) grounds.push(await readKeepOut(field, files, source, remarks));
  return grounds;
}

// --- inside ---------------------------------------------------------------------------------------------------

/** The features of a file that a job means. */
export async function featuresOf(files: FileSet, source: Source, remarks: Remarks): Promise<readonly Feature[]> {
  const {features} = await readVector(files, source, remarks);
  return features.filter(({properties}) =>
    (source.only ?? []).every(({column, is}) => String(properties[column] ?? "").trim() === is),
  );
}

async function readKeepOut(
  field: Field,
  files: FileSet,
  source: NonNullable<Sampling["keepOuts"]>[number],
  remarks: Remarks,
): Promise<KeepOut> {
  const {kind, file, cross = true} = source;
  const name = source.name ?? kind ?? file;
  const usual = kind && USUAL_DISTANCES[kind];
  const distance = source.distance ?? usual?.distance;
  if (distance === undefined) {
    throw new FieldError("sampling/keep-out", `The keep-out "${name}" has no distance.`, {
      place: {file},
      hint: 'Give "distance", as in "50 ft" ("0 ft" for polygons as drawn), or "kind".',
    });
  }
  if (source.distance === undefined && usual) {
    remarks.push({
      code: "sampling/usual-distance",
      severity: "note",
      message: `Cores keep ${formatLength(usual.distance)} from "${name}": ${usual.source}.`,
      place: {file},
    });
  }
  return makeKeepOut(name, drawnIn(field, await featuresOf(files, source, remarks)), distance, cross);
}

/** What features draw, in the field's frame. */
export function drawnIn({frame}: Field, features: readonly Feature[]): Required<Drawn> {
  const plane = (line: readonly LonLat[]): XY[] => line.map((position) => toPlane(frame, position));
  const polygons: MultiPolygon[number][] = [];
  const lines: XY[][] = [];
  const points: XY[] = [];
  for (const {geometry} of features) {
    if (geometry.type === "Polygon") polygons.push(...multiPolygonToPlane(frame, [geometry.coordinates]));
    else if (geometry.type === "MultiPolygon") polygons.push(...multiPolygonToPlane(frame, geometry.coordinates));
    else if (geometry.type === "LineString") lines.push(plane(geometry.coordinates));
    else if (geometry.type === "MultiLineString") lines.push(...geometry.coordinates.map(plane));
    else if (geometry.type === "MultiPoint") points.push(...plane(geometry.coordinates));
    else points.push(...plane([geometry.coordinates]));
  }
  return {polygons, lines, points};
}

async function readGate(
  field: Field,
  files: FileSet,
  gate: NonNullable<Sampling["gate"]>,
  remarks: Remarks,
): Promise<XY> {
  if (!("file" in gate)) return nearField(field, toPlane(field.frame, [gate.lon, gate.lat]));
  const {points} = drawnIn(field, await featuresOf(files, gate, remarks));
  const [place] = points;
  if (place && points.length === 1) return nearField(field, place);
  throw new FieldError("sampling/gate", `${gate.file} holds ${points.length} points that could be the gate.`, {
    place: {file: gate.file},
    hint: 'Choose one by "only", as in [{"column": "kind", "is": "gate"}], or give its lon and lat.',
  });
}

/** A gate miles away is a slip: a sign left out, or another field's. */
function nearField(field: Field, gate: XY): XY {
  const {west, south, east, north} = boxOf(field.outline);
  const away = Math.hypot(Math.max(west - gate.x, gate.x - east, 0), Math.max(south - gate.y, gate.y - north, 0));
  if (away <= FARTHEST_GATE_M) return gate;
  throw new FieldError("sampling/gate", `The gate lies ${formatLength(away)} from ${field.name}.`, {
    hint: "Check its longitude and latitude; west of Greenwich longitudes are negative, as in -86.4.",
  });
}

/** Common sense, no source. */
const FARTHEST_GATE_M = 5000;

async function readOwnPoints(
  field: Field,
  files: FileSet,
  source: NonNullable<Sampling["grid"]["points"]>,
  remarks: Remarks,
): Promise<DirectedPoint[]> {
  const features = await featuresOf(files, source, remarks);
  const points = features.flatMap((feature): DirectedPoint[] => {
    const name = source.name === undefined ? undefined : feature.properties[source.name];
    return drawnIn(field, [feature]).points.map((p) => ({
      ...p,
      ...(name !== undefined && name !== null && {name: String(name)}),
    }));
  });
  if (points.length > 0) return points;
  throw new FieldError("sampling/points", `${source.file} holds no points.`, {
    place: {file: source.file},
    hint: "Give a file with point features.",
  });
}

async function readEarlier(
  field: Field,
  files: FileSet,
  {units, cores}: Repeat,
  remarks: Remarks,
): Promise<EarlierUnit[]> {
  const byUnit = new Map<string, {core: number; at: XY}[]>();
  for (const {geometry, properties} of (await readVector(files, {file: cores}, remarks)).features) {
    const {sample, core, duplicate_of: of} = properties;
    if (geometry.type !== "Point" || typeof sample !== "string" || (of !== undefined && of !== null)) continue;
    const before = byUnit.get(sample) ?? [];
    byUnit.set(sample, [...before, {core: Number(core), at: toPlane(field.frame, geometry.coordinates)}]);
  }
  const {features} = await readVector(files, {file: units}, remarks);
  const earlier = features.flatMap((feature): EarlierUnit[] => {
    const {sample, label, zone} = feature.properties;
    const {polygons} = drawnIn(field, [feature]);
    if (typeof sample !== "string" || polygons.length === 0) return [];
    const places = (byUnit.get(sample) ?? []).sort((a, b) => a.core - b.core);
    return [
      {
        id: sample,
        label: String(label ?? sample),
        shape: polygons,
        ...(typeof zone === "number" && {zone}),
        cores: places.map(({at}) => at),
      },
    ];
  });
  if (earlier.length > 0 && earlier.some((unit) => unit.cores.length > 0)) return earlier;
  throw new FieldError("sampling/repeat", `${units} and ${cores} do not hold the units and cores of one plan.`, {
    place: {file: earlier.length === 0 ? units : cores},
    hint: "Give the two GeoJSON files of an earlier plan as this program wrote them.",
  });
}
