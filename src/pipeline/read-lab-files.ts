import {FieldError, type Issue, isFieldError, withPlace} from "../errors.ts";
import {detect} from "../formats/detect.ts";
import {bytesOf, type FileSet} from "../formats/file-set.ts";
import {readModus} from "../formats/modus/read-modus.ts";
import {readPoints} from "../formats/read-points.ts";
import {crsFromText} from "../geo/crs.ts";
import type {Field} from "../geo/field.ts";
import {columnsToPlane, toPlane} from "../geo/frame.ts";
import {applyChoices, type ResultChoice} from "../lab/apply-choices.ts";
import type {SamplePlace} from "../lab/assign-tests.ts";
import {chooseRecords} from "../lab/choose-records.ts";
import {findOutliers} from "../lab/find-outliers.ts";
import type {AnalyteColumn} from "../lab/lab-mapping.ts";
import {readLongLab} from "../lab/long-table.ts";
import {completeMapping, type LabAnswer, type LabProposal, proposeMapping} from "../lab/propose-mapping.ts";
import {type LabResults, readLab} from "../lab/read-lab.ts";
import {readRecords} from "../lab/read-records.ts";
import type {SoilTest} from "../lab/soil-test.ts";
import {withCec} from "../lab/sum-of-cations.ts";
import type {Table} from "../table.ts";
import {given} from "./given.ts";
import type {Job, LabFile, PlacesFile} from "./job.ts";
import type {LabReport} from "./make-rates.ts";
import {type Remarks, readRows, readVector} from "./read-inputs.ts";

/**
 * All lab files of a job as one report, with the choices made about doubtful results.
 *
 * @throws {FieldError} what the readers of tables and of Modus reports refuse; `lab/unanswered` with what to write into
 *   the job.
 */
export async function readLabFiles(job: Job, field: Field, files: FileSet, remarks: Remarks): Promise<LabReport> {
  if (!job.lab) throw new Error("lab results were asked for in a job without any");
  const {choices, cec, places} = job.lab;
  const read = await readReport(job, field, files, job.lab.files, remarks);
  const chosen = applyChoices(read.tests, choices);
  remarks.push(...doubts(read.tests, choices), ...chosen.issues);
  const complete = cec === "sum of cations" ? withCec(chosen.tests) : {tests: chosen.tests, issues: []};
  remarks.push(...complete.issues);
  const taken = [...read.places, ...(places ? await readPlaces(field, files, places, remarks) : [])];
  return {tests: complete.tests, choices: chosen.recorded, ...(taken.length > 0 && {places: taken})};
}

/** The tests of lab files, and where each was taken where they say so. */
export async function readReport(
  job: Job,
  field: Field,
  files: FileSet,
  sources: readonly LabFile[],
  remarks: Remarks,
): Promise<{tests: SoilTest[]; places: SamplePlace[]}> {
  const tests: SoilTest[] = [];
  const places: SamplePlace[] = [];
  for (const source of sources) {
    const {file, x, y} = source;
    const depthM = source.depth ?? job.sampling.depth;
    if (isModus(bytesOf(files, file))) {
      const results = withPlace({file}, () => readModusTests(bytesOf(files, file), source, depthM));
      tests.push(...results.tests);
      remarks.push(...results.issues);
      continue;
    }
    const {table, sampleId} = withIds(readRows(files, file, remarks), source);
    const results = withPlace({file}, () => readTableTests(table, {...source, sampleId}, depthM));
    tests.push(...results.tests);
    remarks.push(...results.issues);
    if (x !== undefined && y !== undefined && sampleId !== undefined) {
      places.push(...(await placesInTable(field, table, {...source, sampleId, x, y}, remarks)));
    }
  }
  return {tests, places};
}

function answerOf({column, ...said}: LabFile["answers"][number]): LabAnswer {
  return {column, ...given(said)};
}

/** XML and JSON are reports in the Modus form; tables start with neither sign. */
function isModus(bytes: Uint8Array): boolean {
  return /^(\u00ef\u00bb\u00bf)?\s*[<{[]/.test(String.fromCharCode(...bytes.subarray(0, 200)));
}

function readModusTests(bytes: Uint8Array, source: LabFile, depthM: number): LabResults {
  const {records, issues} = readModus(bytes, source.file);
  const {choose, answers, decimal} = source;
  const asked =
    choose.field === undefined && choose.date === undefined ? records : chooseRecords(records, given(choose));
  const read = answering(source, () =>
    readRecords(source.file, asked, {depthM, answers: answers.map(answerOf), ...given({decimal})}),
  );
  return {tests: read.tests, issues: [...issues, ...read.issues]};
}

function readTableTests(table: Table, source: LabFile, depthM: number): LabResults {
  const {analytes, sampleId, only, decimal} = source;
  if (analytes) {
    if (sampleId === undefined) throw new Error("named columns without a name for the ids");
    return readLab(table, {sampleId, depthM, analytes, only}, given({decimal}));
  }
  const answers = source.answers.map(answerOf);
  const proposal = proposeMapping(table);
  const mark = decimal ?? proposal.decimal;
  if (proposal.long) {
    const id = sampleId ?? proposal.sampleId;
    if (id === undefined) throw answerable(source, completionError(proposal, depthM));
    return answering(source, () =>
      readLongLab(table, {
        ...(proposal.long as NonNullable<typeof proposal.long>),
        sampleId: id,
        depthM,
        decimal: mark,
        answers,
        only: given(source.choose),
      }),
    );
  }
  const mapping = answering(source, () =>
    completeMapping(proposal, {depthM, answers, ...(sampleId !== undefined && {sampleId})}),
  );
  const results = readLab(table, {...mapping, only}, {decimal: mark});
  return {tests: results.tests, issues: [howRead(table, mapping.analytes), ...results.issues]};
}

/** What a person should look over once when columns were read from words. */
function howRead(table: Table, analytes: readonly AnalyteColumn[]): Issue {
  const columns = analytes.map(
    ({column, analyte, unit, method}) => `"${column}" as ${analyte} in ${unit} by ${method}`,
  );
  return {
    code: "lab/columns-proposed",
    severity: "note",
    message: `The columns of ${table.file} were read by their words: ${columns.join("; ")}.`,
    place: {file: table.file},
    hint: 'Name them under "analytes" in the job if one is wrong.',
  };
}

function completionError(proposal: LabProposal, depthM: number): unknown {
  try {
    completeMapping(proposal, {depthM});
  } catch (error) {
    return error;
  }
  throw new Error("a table without an id column was taken as complete");
}

/** An open question is told with what to write into the job. */
function answering<T>(source: LabFile, read: () => T): T {
  try {
    return read();
  } catch (error) {
    throw answerable(source, error);
  }
}

function answerable({file}: LabFile, error: unknown): unknown {
  if (!isFieldError(error) || error.code !== "lab/unanswered") return error;
  const open = error.issues.filter(({code}) => code === "lab/question");
  const columns = open.length > 0 ? open.map(({place}) => place?.column) : [error.place?.column];
  const column = columns.find((one) => one !== undefined);
  const keys = [
    ...(columns.includes(undefined) ? ['"sampleId": "…"'] : []),
    ...(column === undefined ? [] : [`"answers": [{"column": ${JSON.stringify(column)}, "unit": "…", "method": "…"}]`]),
  ];
  return new FieldError(error.code, error.message, {
    place: {file, ...error.place},
    hint: `${open.length > 0 ? "" : `${error.hint} `}Write beside the file in the job what is asked for: ${keys.join(", ")}.`,
    issues: error.issues,
  });
}

/** Results that stand far from the others and that nobody has decided about. */
function doubts(tests: readonly SoilTest[], choices: readonly ResultChoice[]): Issue[] {
  const {flags, issues} = findOutliers(tests);
  return issues.filter((_, i) => {
    const flag = flags[i];
    return !choices.some(({sampleId, analyte}) => sampleId === flag?.sampleId && analyte === flag?.analyte);
  });
}

/** Rows that say where they were taken need no id; they get the number of their row, which ties result and place. */
function withIds(table: Table, {sampleId, x, y}: LabFile): {table: Table; sampleId?: string} {
  if (sampleId !== undefined) return {table, sampleId};
  if (x === undefined || y === undefined) return {table};
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

export async function readPlaces(
  field: Field,
  files: FileSet,
  source: PlacesFile,
  remarks: Remarks,
): Promise<SamplePlace[]> {
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
