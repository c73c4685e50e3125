import {FieldError, type Issue} from "../errors.ts";
import type {DecimalMark} from "../units/number.ts";
import {ANALYTES, findMethod, findUnit} from "./analytes.ts";
import {checkCations} from "./check-cations.ts";
import {analyteOf, methodOf, readHeading} from "./heading-words.ts";
import type {LabRecord} from "./lab-record.ts";
import {isSummary, type SampleRow} from "./lab-rows.ts";
import {mergeRepeats} from "./merge-repeats.ts";
import {ask, type LabAnswer, type LabQuestion, unanswered} from "./propose-mapping.ts";
import {readColumn} from "./read-column.ts";
import type {LabResults} from "./read-lab.ts";
import {idKey} from "./sample-id.ts";
import {sayRows} from "./say-rows.ts";
import type {Analyte, Method, SoilTest, SoilTestUnit} from "./soil-test.ts";

export interface RecordOptions {
  /** Lower end of the sampled layer, metres, for results whose file gives none. */
  readonly depthM?: number;
  readonly decimal?: DecimalMark;
  /** What the file does not say; `column` is the analyte as the file writes it. */
  readonly answers?: readonly LabAnswer[];
}

/** All results of a file that share an analyte, a unit and a method, as the file writes them. */
interface Series {
  readonly word: string;
  readonly analyte: Analyte;
  readonly unit: SoilTestUnit | undefined;
  readonly method: Method | undefined;
  readonly depthM: number | undefined;
  readonly records: readonly LabRecord[];
}

/**
 * Reads results that stand one to a row. Every record ends as a value or in an issue; rules for cells and repeats are
 * those of `readLab`.
 *
 * @param records - Of one sampling: where a sample id stands for several fields, days or depths, choose first
 *   (`chooseRecords`).
 * @throws {FieldError} `lab/unanswered` when a unit, method or depth is neither in the file nor answered,
 *   `lab/id-in-several-groups`, `lab/oxide`, `lab/no-unit`, `lab/unit-differs`, `lab/duplicate-differs`, `lab/no-rows`.
 */
export function readRecords(file: string, records: readonly LabRecord[], options: RecordOptions = {}): LabResults {
  const {kept, issues} = withIds(file, records);
  refuseMixedGroups(file, kept);
  const {series, passedOver} = seriesOf(file, kept, options);
  if (series.length === 0) {
    throw new FieldError("lab/no-rows", `${file} holds no result of a soil test this program knows.`, {
      place: {file},
      hint: "Check that it is a soil report.",
      issues: [...issues, ...passedOver],
    });
  }
  const open = series.flatMap((one) => questionsOn(one, options));
  if (open.length > 0) {
    throw unanswered(open, file, [...issues, ...passedOver]);
  }
  const rows: SampleRow[] = [];
  const tests: SoilTest[][] = [];
  const told: Issue[] = [];
  for (const one of series) {
    const read = readSeries(file, one, options);
    rows.push(...read.rows);
    tests.push(...read.tests.map((test) => (test ? [test] : [])));
    told.push(...read.issues);
  }
  const merged = mergeRepeats(file, rows, tests);
  return {
    tests: merged.tests,
    // That a sample's results stand in several rows is what a long file is, so the remarks of the merge are left out;
    // a result that was given twice is told where its series is read.
    issues: [...issues, ...passedOver, ...told, ...checkCations(file, merged.tests)],
  };
}

/** What must be asked before these records can be read. */
export function questionsAbout(
  file: string,
  records: readonly LabRecord[],
  options: RecordOptions = {},
): readonly LabQuestion[] {
  return seriesOf(file, withIds(file, records).kept, options).series.flatMap((one) => questionsOn(one, options));
}

function withIds(file: string, records: readonly LabRecord[]): {kept: LabRecord[]; issues: Issue[]} {
  const kept: LabRecord[] = [];
  const nameless: number[] = [];
  const summaries: number[] = [];
  for (const record of records) {
    if (record.sampleId.trim() === "") nameless.push(record.row);
    else if (isSummary(record.sampleId)) summaries.push(record.row);
    else kept.push(record);
  }
  const issues: Issue[] = [];
  const tell = (
    code: string,
    severity: "note" | "warning",
    rows: readonly number[],
    message: string,
    hint?: string,
  ): void => {
    if (rows.length === 0) return;
    issues.push({code, severity, message, place: {file, row: rows[0] as number}, ...(hint && {hint})});
  };
  tell(
    "lab/no-sample-id",
    "warning",
    nameless,
    `Results without a sample id were left out (${sayRows(nameless)}).`,
    "Write the sample id into the file; results are never matched by their order.",
  );
  tell("lab/summary-row", "note", summaries, `Summaries were left out (${sayRows(summaries)}).`);
  return {kept, issues};
}

/** One id must mean one bag: the same number in two fields, on two days or at two depths is two samples. */
function refuseMixedGroups(file: string, records: readonly LabRecord[]): void {
  const groups = new Map<string, LabRecord>();
  for (const record of records) {
    const first = groups.get(idKey(record.sampleId));
    if (!first) groups.set(idKey(record.sampleId), record);
    else if (first.field !== record.field || first.date !== record.date || first.depthM !== record.depthM) {
      const say = ({field, date, depthM}: LabRecord) =>
        [field, date, depthM === undefined ? "" : `to ${Math.round(depthM * 100)} cm`].filter(Boolean).join(", ") ||
        "no name";
      throw new FieldError(
        "lab/id-in-several-groups",
        `Sample "${record.sampleId}" stands for several samplings: ${say(first)} (row ${first.row}) and ${say(record)} (row ${record.row}).`,
        {place: {file, row: record.row}, hint: "Choose one field, day and depth of the file."},
      );
    }
  }
}

function seriesOf(
  file: string,
  records: readonly LabRecord[],
  {answers = []}: RecordOptions,
): {series: Series[]; passedOver: Issue[]} {
  const groups = new Map<string, LabRecord[]>();
  for (const record of records) {
    const key = [record.analyte, record.unit, record.method, record.depthM].join("\u0000");
    const group = groups.get(key);
    if (group) group.push(record);
    else groups.set(key, [record]);
  }
  const series: Series[] = [];
  const passedOver: Issue[] = [];
  for (const group of groups.values()) {
    const {analyte: word, unit, method, depthM} = group[0] as LabRecord;
    const answer = answers.find(({column}) => column === word);
    if (answer?.leaveOut) {
      passedOver.push(leftOut(file, word, group));
      continue;
    }
    const reading = readHeading(word);
    if (reading.passedOver === "oxide" || /p2o5|k2o/i.test(unit)) throw oxide(file, group);
    const analyte = reading.passedOver ? undefined : analyteOf(word);
    if (!analyte) {
      passedOver.push(leftOut(file, word, group, " is no soil test this program uses;"));
      continue;
    }
    const ownUnit = findUnit(unit) ?? (/^(none|-)?$/i.test(unit.trim()) ? reading.unit : undefined);
    series.push({
      word,
      analyte,
      unit: unitFor(file, group, analyte, ownUnit, answer),
      method: methodFor(method, analyte, word, answer),
      depthM,
      records: group,
    });
  }
  return {series, passedOver};
}

function unitFor(
  file: string,
  [first]: readonly LabRecord[],
  analyte: Analyte,
  own: SoilTestUnit | undefined,
  answer: LabAnswer | undefined,
): SoilTestUnit | undefined {
  const {units} = ANALYTES[analyte];
  const asked = answer?.unit === undefined ? undefined : findUnit(answer.unit);
  if (own && asked && own !== asked) {
    throw new FieldError(
      "lab/unit-differs",
      `${file} says that ${first?.analyte} is in ${own}, the answer says ${asked}.`,
      {
        place: {file, row: first?.row ?? 1},
        hint: `Give the unit "${own}", or correct the file.`,
      },
    );
  }
  const found = own ?? asked ?? (units.length === 1 ? units[0] : undefined);
  if (found && !units.includes(found)) {
    throw new FieldError("lab/no-unit", `${first?.analyte} (${analyte}) cannot have the unit "${found}".`, {
      place: {file, row: first?.row ?? 1},
      hint: `Correct the unit in the file: ${units.join(", ")}.`,
    });
  }
  return found;
}

function methodFor(text: string, analyte: Analyte, word: string, answer: LabAnswer | undefined): Method | undefined {
  const allowed = (method: Method | undefined) =>
    method && ANALYTES[analyte].methods.includes(method) ? method : undefined;
  const own = allowed(findMethod(text)) ?? methodOf(text, analyte) ?? methodOf(word, analyte);
  const asked = allowed(findMethod(answer?.method ?? ""));
  // A file that says Mehlich-3 and no more is completed by an answer, never contradicted by one.
  return own === "mehlich-3" && asked?.startsWith("mehlich-3") ? asked : (own ?? asked);
}

function questionsOn({word, analyte, unit, method, depthM}: Series, options: RecordOptions): LabQuestion[] {
  const answered = options.answers?.find(({column}) => column === word);
  const questions = ask(word, analyte, {...(unit && {unit}), ...(method && {method})}).filter(
    // Told that the detection is not known, the program believes it: the guides will then refuse what needs it.
    ({about}) => !(about === "method" && method === "mehlich-3" && answered?.method !== undefined),
  );
  if (depthM === undefined && options.depthM === undefined) {
    questions.push({about: "depth", message: "How deep was the soil sampled?", choices: ["8 in", "7 in", "6 in"]});
  }
  return questions;
}

function readSeries(file: string, one: Series, options: RecordOptions) {
  const {word, analyte, unit, method, records} = one;
  const depthM = one.depthM ?? options.depthM;
  if (!unit || !method || depthM === undefined) throw new Error(`${word} was read without its unit, method or depth`);
  const rows = records.map(({row, sampleId, value}): SampleRow => ({row, sampleId: sampleId.trim(), cells: [value]}));
  const sheet = {file, depthM, decimal: options.decimal ?? "."};
  const read = readColumn(sheet, {index: 0, column: word, analyte, unit, method}, `${word} ${unit}`, rows);
  const tests = read.tests.map((test, i) => {
    const {field, date} = records[i] as LabRecord;
    return test && {...test, ...(field && {field}), ...(date && {date})};
  });
  return {rows, tests, issues: [...read.issues, ...repeats(file, word, records)]};
}

/** Results that were given twice; two that differ have stopped the reading by the time anyone sees this. */
function repeats(file: string, word: string, records: readonly LabRecord[]): Issue[] {
  const seen = new Set<string>();
  const again = records.filter(({sampleId}) => {
    const repeated = seen.has(idKey(sampleId));
    seen.add(idKey(sampleId));
    return repeated;
  });
  const [first] = again;
  if (!first) return [];
  return [
    {
      code: "lab/duplicate",
      severity: "warning",
      message: `"${word}" of sample "${first.sampleId}" stands twice with the same value${again.length > 1 ? `, and so for ${again.length - 1} more` : ""}; it was kept once.`,
      place: {file, row: first.row},
    },
  ];
}

function leftOut(file: string, word: string, group: readonly LabRecord[], why = " was left out as asked:"): Issue {
  return {
    code: "lab/analyte-passed-over",
    severity: "note",
    message: `"${word}"${why} ${group.length === 1 ? "its result was" : `its ${group.length} results were`} passed over.`,
    place: {file, row: (group[0] as LabRecord).row},
  };
}

function oxide(file: string, [first]: readonly LabRecord[]): FieldError {
  return new FieldError("lab/oxide", `"${first?.analyte}" is a soil test given as an oxide (P2O5 or K2O).`, {
    place: {file, row: first?.row ?? 1},
    hint: "Ask the lab for elemental P and K: soil tests are elemental, only fertilizer is in oxides.",
  });
}
