import {FieldError, type Issue} from "../errors.ts";
import type {Table} from "../table.ts";
import {type DecimalMark, decimalMarkOf} from "../units/number.ts";
import {ANALYTES, findUnit} from "./analytes.ts";
import {type HeadingReading, methodOf, type Role, readHeading} from "./heading-words.ts";
import type {AnalyteColumn, LabMapping} from "./lab-mapping.ts";
import type {LongMapping} from "./long-table.ts";
import type {Analyte, Method, SoilTestUnit} from "./soil-test.ts";

/** How a table's columns look to the program, and what only the user or the lab can say. */
export interface LabProposal {
  /** One row a sample, or one row a result. */
  readonly layout: "wide" | "long";
  readonly sampleId: string | undefined;
  /** Of a wide table. A unit or method that no word of the file gives is absent. */
  readonly analytes: readonly AnalyteColumn[];
  /** Of a long table. */
  readonly long: Omit<LongMapping, "depthM" | "sampleId" | "answers"> | undefined;
  readonly columns: readonly {readonly column: string; readonly readAs: string}[];
  readonly questions: readonly LabQuestion[];
  /** As in "8 in", where a column of a wide table gives one depth with its unit in all rows. */
  readonly depth: string | undefined;
  readonly decimal: DecimalMark;
}

/** Something the file does not say and the program does not guess. */
export interface LabQuestion {
  readonly about: "sample id" | "unit" | "method" | "depth";
  /** The column it is about; absent for the whole table. */
  readonly column?: string;
  readonly message: string;
  /** What can be answered; the usual answers first. */
  readonly choices: readonly string[];
}

/** A user's answer about one column. */
export interface LabAnswer {
  readonly column: string;
  readonly unit?: string;
  readonly method?: string;
  /** Leaves the column out. */
  readonly leaveOut?: boolean;
}

/**
 * Proposes what each column of a lab's table means, from the words of its headings and of unit or method rows below.
 *
 * Units and methods are read where they are written and asked for where they are not; nothing is guessed from values.
 * The sampling depth is always asked for: the heading of a depth may be that of a plan, not of the probe. Where a column
 * holds a single one it is given beside the question.
 */
export function proposeMapping(table: Table): LabProposal {
  const read = table.header.map((heading, i) => ({column: heading, index: i, ...withRowsBelow(table, i)}));
  const roleOf = (role: Role): string | undefined => read.find((column) => column.role === role)?.column;
  const results = read.filter((column) => column.analyte !== undefined);
  const isLong = roleOf("analyte") !== undefined && roleOf("value") !== undefined && results.length <= 2;
  const sampleId = roleOf("sample id") ?? roleOf("lab number");
  const questions: LabQuestion[] = [];
  if (sampleId === undefined) {
    questions.push({
      about: "sample id",
      message: `No heading of ${table.file} is a known word for the sample id.`,
      choices: read.filter((c) => !c.analyte && !c.passedOver).map(({column}) => column),
    });
  }
  if (!isLong) questions.push(...results.flatMap((column) => ask(column.column, column.analyte as Analyte, column)));
  questions.push({
    about: "depth",
    message: "How deep was the soil sampled? A guide is made for one depth.",
    choices: ["8 in", "7 in", "6 in"],
  });
  return {
    layout: isLong ? "long" : "wide",
    sampleId,
    analytes: isLong
      ? []
      : results.map(({column, analyte, unit, method}) => entry(column, analyte as Analyte, unit, method)),
    long: isLong ? longOf(roleOf) : undefined,
    columns: read.map((column) => ({column: column.column, readAs: sayReading(column, isLong)})),
    questions,
    depth: isLong ? undefined : onlyDepth(table, read),
    decimal: decimalMarkOf(
      (isLong ? read.filter(({role}) => role === "value") : results).flatMap(({index}) =>
        table.rows.map((cells) => cells[index] ?? ""),
      ),
    ),
  };
}

/**
 * The mapping of a wide table: the proposal with the user's answers put in.
 *
 * @param depthM - Lower end of the sampled layer, metres.
 * @throws {FieldError} `lab/unanswered` when a unit, a method or the sample id is still open, naming each.
 */
export function completeMapping(
  proposal: LabProposal,
  given: {readonly depthM: number; readonly sampleId?: string; readonly answers?: readonly LabAnswer[]},
): LabMapping {
  const sampleId = given.sampleId ?? proposal.sampleId;
  const answers = new Map((given.answers ?? []).map((answer) => [answer.column, answer]));
  const open = proposal.questions.filter(({about, column}) => {
    if (about === "depth") return false;
    if (about === "sample id") return sampleId === undefined;
    const answer = answers.get(column ?? "");
    return !answer?.leaveOut && answer?.[about] === undefined;
  });
  if (open.length > 0 || sampleId === undefined) {
    throw unanswered(open);
  }
  const analytes = proposal.analytes
    .filter(({column}) => !answers.get(column)?.leaveOut)
    .map((column) => {
      const {unit = column.unit, method = column.method} = answers.get(column.column) ?? {};
      return {...column, unit, method};
    });
  return {sampleId, depthM: given.depthM, analytes};
}

/** Open questions as one refusal; several stand in its issues, each with its column and what can be answered. */
export function unanswered(open: readonly LabQuestion[], file?: string, more: readonly Issue[] = []): FieldError {
  const issues = open.map(
    ({about, column, message, choices}): Issue => ({
      code: "lab/question",
      severity: "error",
      message,
      place: {...(file !== undefined && {file}), ...(column !== undefined && {column})},
      hint: `Answer its ${about}: ${choices.join(", ")}.`,
    }),
  );
  const [only, ...others] = issues;
  if (only && others.length === 0) {
    return new FieldError("lab/unanswered", only.message, {place: only.place, hint: only.hint, issues: more});
  }
  return new FieldError("lab/unanswered", `The report leaves ${issues.length} things open.`, {
    place: file === undefined ? undefined : {file},
    hint: `Answer each: ${open.map(({about, column}) => (column === undefined ? about : `"${column}" (${about})`)).join(", ")}.`,
    issues: [...issues, ...more],
  });
}

/** Whether a unit and a method are known for a column, and if not, what to ask. */
export function ask(
  column: string,
  analyte: Analyte,
  {unit, method}: {readonly unit?: SoilTestUnit; readonly method?: Method},
): LabQuestion[] {
  const {units, methods} = ANALYTES[analyte];
  const questions: LabQuestion[] = [];
  if (unit === undefined && units.length > 1) {
    questions.push({
      about: "unit",
      column,
      message: `Column "${column}" (${analyte}) names no unit.`,
      choices: units.map((u) => (u === "mg/kg" ? "ppm" : u)),
    });
  }
  const halfKnown = analyte === "P" && method === "mehlich-3";
  if (method === undefined || halfKnown) {
    questions.push({
      about: "method",
      column,
      message: halfKnown
        ? `Column "${column}" (P) is Mehlich-3, but does not say whether by ICP or by colorimetry.`
        : `Column "${column}" (${analyte}) does not say how it was measured.`,
      choices: halfKnown ? ["mehlich-3 icp", "mehlich-3 colorimetric"] : methods,
    });
  }
  return questions;
}

/** The one depth that all rows of the one column of depths hold; undefined where they differ or name no unit. */
function onlyDepth(
  {rows}: Table,
  read: readonly (HeadingReading & {column: string; index: number})[],
): string | undefined {
  const [column, ...others] = read.filter(({role}) => role === "depth");
  if (!column || others.length > 0) return undefined;
  const cells = new Set(rows.map((cells) => (cells[column.index] ?? "").trim()).filter((cell) => cell !== ""));
  const [cell = ""] = cells;
  const [, amount, unit = UNIT_OF_DEPTH.exec(column.column)?.[1]] = cells.size === 1 ? (DEPTH.exec(cell) ?? []) : [];
  if (amount === undefined || unit === undefined || Number(amount) === 0) return undefined;
  return `${amount} ${/^cm|^centi/i.test(unit) ? "cm" : "in"}`;
}

const DEPTH = /^(?:0\s*(?:-|–|to)\s*)?(\d+(?:\.\d+)?)\s*(in|inch|inches|"|cm)?\.?$/i;
const UNIT_OF_DEPTH = /(?<![a-z])(in|inch|inches|cm|centimetres|centimeters)(?![a-z])/i;

/** The heading, completed by a row of units or of methods among the first rows. */
function withRowsBelow(table: Table, index: number): HeadingReading {
  const heading = readHeading(table.header[index] ?? "");
  const {analyte} = heading;
  if (!analyte) return heading;
  let {unit, method} = heading;
  for (const cells of table.rows.slice(0, 3)) {
    const cell = (cells[index] ?? "").trim().replace(/^[([]\s*|\s*[)\]]$/g, "");
    if (cell === "" || /^[<>]?\s*[\d.,]+$/.test(cell)) continue;
    const below = findUnit(cell);
    if (below && ANALYTES[analyte].units.includes(below)) unit ??= below;
    else method = refined(method, methodOf(cell, analyte), analyte, `${table.header[index]} ${cell}`);
  }
  return {...heading, ...(unit && {unit}), ...(method && {method})};
}

/** "Mehlich 3" in the heading and "ICP" below it make one method. */
function refined(
  above: Method | undefined,
  below: Method | undefined,
  analyte: Analyte,
  both: string,
): Method | undefined {
  if (above === undefined) return below;
  return above === "mehlich-3" ? (methodOf(both, analyte) ?? above) : above;
}

function entry(
  column: string,
  analyte: Analyte,
  unit: SoilTestUnit | undefined,
  method: Method | undefined,
): AnalyteColumn {
  const {units} = ANALYTES[analyte];
  const only = units.length === 1 ? units[0] : undefined;
  const known = analyte === "P" && method === "mehlich-3" ? undefined : method;
  return {analyte, column, unit: unit ?? only, method: known};
}

function longOf(roleOf: (role: Role) => string | undefined): NonNullable<LabProposal["long"]> {
  const [unit, method, field, date, depth] = (["unit", "method", "field", "date", "depth"] as const).map(roleOf);
  return {
    analyte: roleOf("analyte") as string,
    value: roleOf("value") as string,
    ...(unit && {unit}),
    ...(method && {method}),
    ...(field && {field}),
    ...(date && {date}),
    ...(depth && {depth}),
  };
}

function sayReading({role, analyte, unit, method, passedOver}: HeadingReading, isLong: boolean): string {
  if (passedOver) return `passed over: ${passedOver}`;
  if (role) return role;
  if (!analyte || isLong) return "passed over: no soil test";
  return [analyte, unit && `in ${unit}`, method && `by ${method}`].filter(Boolean).join(" ");
}
