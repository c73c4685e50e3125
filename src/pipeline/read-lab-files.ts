import {FieldError, withPlace} from "../errors.ts";
import {detect} from "../formats/detect.ts";
import {bytesOf, type FileSet} from "../formats/file-set.ts";
import {readPoints} from "../formats/read-points.ts";
import {crsFromText} from "../geo/crs.ts";
import type {Field} from "../geo/field.ts";
import {columnsToPlane, toPlane} from "../geo/frame.ts";
import type {SamplePlace} from "../lab/assign-tests.ts";
import {readLab} from "../lab/read-lab.ts";
import type {SoilTest} from "../lab/soil-test.ts";
import type {Table} from "../table.ts";
import type {Job, LabFile, PlacesFile} from "./job.ts";
import type {LabReport} from "./make-rates.ts";
import {type Remarks, readRows, readVector} from "./read-inputs.ts";

/** All lab files of a job as one report. */
export async function readLabFiles(job: Job, field: Field, files: FileSet, remarks: Remarks): Promise<LabReport> {
  if (!job.lab) throw new Error("lab results were asked for in a job without any");
  const tests: SoilTest[] = [];
  const places: SamplePlace[] = [];
  for (const source of job.lab.files) {
    const {table, sampleId} = withIds(readRows(files, source.file, remarks), source);
    const results = withPlace({file: source.file}, () =>
      readLab(
        table,
        {
          sampleId,
          depthM: source.depth ?? job.sampling.depth,
          analytes: source.analytes,
          only: source.only,
        },
        {decimal: source.decimal},
      ),
    );
    tests.push(...results.tests);
    remarks.push(...results.issues);
    if (source.x !== undefined && source.y !== undefined) {
      places.push(...(await placesInTable(field, table, {...source, sampleId, x: source.x, y: source.y}, remarks)));
    }
  }
  if (job.lab.places) places.push(...(await readPlaces(field, files, job.lab.places, remarks)));
  return {tests, ...(places.length > 0 && {places})};
}

/** Rows that say where they were taken need no id; they get the number of their row, which ties result and place. */
function withIds(table: Table, {sampleId}: LabFile): {table: Table; sampleId: string} {
  if (sampleId !== undefined) return {table, sampleId};
  const name = "row of the file";
  const rows = table.rows.map((row, i) => [...row, `row ${table.firstRow + i}`]);
  return {table: {...table, header: [...table.header, name], rows}, sampleId: name};
}

async function placesInTable(
  field: Field,
  table: Table,
  source: {file: string; sampleId: string; x: string; y: string; crs?: string | undefined},
  remarks: Remarks,
): Promise<SamplePlace[]> {
  const crs = source.crs === undefined ? undefined : await crsFromText(source.crs);
  const {value, issues} = withPlace({file: source.file}, () =>
    readPoints(table, {x: source.x, y: source.y, crs, columns: {id: {column: source.sampleId, as: "text"}}}),
  );
  remarks.push(...issues);
  const {x, y} = columnsToPlane(field.frame, value.lon, value.lat);
  const ids = value.texts.id ?? [];
  return ids.flatMap((id, i) =>
    Number.isNaN(x[i] as number) || id === "" ? [] : [{sampleId: id, x: x[i] as number, y: y[i] as number}],
  );
}

async function readPlaces(field: Field, files: FileSet, source: PlacesFile, remarks: Remarks): Promise<SamplePlace[]> {
  const {file, sampleId, x, y} = source;
  if (detect(bytesOf(files, file), file) === "csv") {
    if (x === undefined || y === undefined) {
      throw new FieldError("lab/no-coordinates", `The columns of ${file} that hold positions are not named.`, {
        place: {file},
        hint: 'Give "x" and "y" beside it in the job.',
      });
    }
    return placesInTable(field, readRows(files, file, remarks), {...source, x, y}, remarks);
  }
  const {features} = await readVector(files, source, remarks);
  return features.flatMap(({geometry, properties}) => {
    if (geometry.type !== "Point") return [];
    const id = properties[sampleId];
    if (id === undefined || id === null || String(id).trim() === "") {
      throw new FieldError("lab/place-without-id", `A point of ${file} has no "${sampleId}".`, {
        place: {file},
        hint: "Name the attribute that holds the sample id.",
      });
    }
    return [{sampleId: String(id).trim(), ...toPlane(field.frame, geometry.coordinates)}];
  });
}
