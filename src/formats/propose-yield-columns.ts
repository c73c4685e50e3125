import {parseNumber} from "../units/number.ts";
import {clockFormatOf, parseClock} from "./clock-text.ts";
import {headerState} from "./header-state.ts";
import {readYieldHeading, YIELD_ROLES, type YieldHeading, type YieldRole} from "./yield-heading-words.ts";

/** A column and, where it measures something, its unit: as a job's `columns` has them. */
export type ProposedColumn = string | {readonly column: string; readonly unit: string};

export interface YieldColumnProposal {
  readonly columns: Readonly<Partial<Record<YieldRole, ProposedColumn>>>;
  /** What was taken, and what was passed over although its words are known, in plain sentences' parts. */
  readonly taken: readonly string[];
  readonly passedOver: readonly string[];
  /** What the file does not say. The proposal is whole when there are none. */
  readonly questions: readonly YieldColumnQuestion[];
}

/** Something a log does not say and the program does not guess. */
export interface YieldColumnQuestion {
  readonly about: "position" | "measure" | "unit" | "column";
  readonly role: YieldRole;
  readonly message: string;
  /** What can be answered; the usual answers first. */
  readonly choices: readonly string[];
}

/**
 * Proposes what each column of a yield log holds, from the words of its headings and the units written in them.
 *
 * Units are read where they are written and asked for where they are not: nothing is guessed from values, but for
 * moistures above 1, which can only be percent. Of several yield columns the first dry one is taken. Two columns for one role, dates
 * that two orders fit, a log without position or grain: all are questions.
 *
 * @param header - Headings as they stand.
 * @param rows - Some rows, from all over the file; they tell a clock from seconds and one order of dates from another.
 */
export function proposeYieldColumns(
  header: readonly string[],
  rows: readonly (readonly string[])[],
): YieldColumnProposal {
  const found = new Map<YieldRole, Candidate[]>();
  const passedOver: string[] = [];
  header.forEach((column, index) => {
    const read = readYieldHeading(column);
    if (!read) return;
    const cells = rows.map((row) => (row[index] ?? "").trim()).filter((cell) => cell !== "");
    const useless = whyUseless(read.role, cells);
    if (useless) passedOver.push(`"${column}" (${useless})`);
    else found.set(read.role, [...(found.get(read.role) ?? []), {column, cells, ...read}]);
  });

  const columns: Partial<Record<YieldRole, ProposedColumn>> = {};
  const questions: YieldColumnQuestion[] = [];
  const taken: string[] = [];
  for (const role of Object.keys(YIELD_ROLES) as YieldRole[]) {
    const candidates = role === "yield" ? dryFirst(found.get(role) ?? []) : (found.get(role) ?? []);
    const [first, second] = candidates;
    if (!first) continue;
    if (second && role !== "yield") questions.push(whichColumn(role, candidates));
    else passedOver.push(...candidates.slice(1).map(({column}) => `"${column}" (another yield column is used)`));
    const {unit, question} = unitOf(role, first);
    if (question) questions.push(question);
    columns[role] = unit === undefined ? first.column : {column: first.column, unit};
    taken.push(`${YIELD_ROLES[role].means} from "${first.column}"${unit ? ` in ${unit}` : ""}`);
  }
  return {columns, taken, passedOver, questions: [...missing(columns, found, header), ...questions]};
}

/** The `columns` of a job with the proposal in it; what is still open stands as its choices, which no reader takes. */
export function columnsToPaste({columns, questions}: YieldColumnProposal): string {
  const open = (role: YieldRole): YieldColumnQuestion[] => questions.filter((question) => question.role === role);
  const entries = (Object.keys(YIELD_ROLES) as YieldRole[]).flatMap((role) => {
    const asked = open(role);
    const proposed = columns[role];
    if (asked.length === 0) return proposed === undefined ? [] : [[role, proposed] as const];
    const which = asked.find(({about}) => about !== "unit");
    const column = which ? which.choices.join(" | ") : typeof proposed === "string" ? proposed : proposed?.column;
    const unit = asked.find(({about}) => about === "unit")?.choices.join(" | ");
    return [[role, unit === undefined ? column : {column, unit}] as const];
  });
  return `"columns": ${JSON.stringify(Object.fromEntries(entries), null, 1).replace(/\n\s*/g, " ")}`;
}

interface Candidate extends YieldHeading {
  readonly column: string;
  readonly cells: readonly string[];
}

/** Why a column with a known heading is of no use. */
function whyUseless(role: YieldRole, cells: readonly string[]): string | undefined {
  if (cells.length === 0) return "empty";
  if (role === "header") {
    const unread = cells.find((cell) => headerState(cell) === undefined);
    return unread === undefined ? undefined : `"${unread}" is no state of a header`;
  }
  if (role === "machine") return undefined;
  if (role === "time") {
    const same = cells.length > 1 && cells.every((cell) => cell === cells[0]);
    return same || cells.every((cell) => DATE_ALONE.test(cell)) ? "a date without a time of day" : undefined;
  }
  return cells.some((cell) => !Number.isNaN(numberIn(cell))) ? undefined : "no numbers";
}

const DATE_ALONE = /^\d{1,4}[-/.]\d{1,2}[-/.]\d{1,4}$/;

function numberIn(cell: string): number {
  const value = parseNumber(cell);
  return Number.isNaN(value) ? parseNumber(cell, ",") : value;
}

/** Yield at standard moisture before yield as cut, each in the order of the file. */
function dryFirst(candidates: readonly Candidate[]): Candidate[] {
  return [...candidates.filter(({moisture}) => moisture !== "wet"), ...candidates.filter((c) => c.moisture === "wet")];
}

function whichColumn(role: YieldRole, candidates: readonly Candidate[]): YieldColumnQuestion {
  const names = candidates.map(({column}) => column);
  return {
    about: "column",
    role,
    message: `${names.map((name) => `"${name}"`).join(" and ")} could all be the ${YIELD_ROLES[role].means}.`,
    choices: names,
  };
}

function unitOf(role: YieldRole, candidate: Candidate): {unit?: string; question?: YieldColumnQuestion} {
  const {means, quantity, units} = YIELD_ROLES[role];
  const {column, cells, unit} = candidate;
  if (quantity === undefined) return {};
  if (role === "time") {
    const clock = clockFormatOf(cells);
    if (clock) return {unit: clock};
    if (cells.some((cell) => Number.isNaN(numberIn(cell)))) return dateOrder(candidate);
  }
  if (unit !== undefined) return {unit};
  if (role === "moisture" && cells.some((cell) => numberIn(cell) > 1)) return {unit: "%"};
  const choices = role === "time" ? ["s", "ms"] : units;
  return {question: {about: "unit", role, message: `Column "${column}" (${means}) names no unit.`, choices}};
}

/** Day or month first, where some cell tells. */
function dateOrder({column, cells}: Candidate): {unit?: string; question?: YieldColumnQuestion} {
  const fitting = (["m/d/y", "d/m/y"] as const).filter((order) =>
    cells.every((cell) => !Number.isNaN(parseClock(cell, order))),
  );
  const [only, other] = fitting;
  if (only && !other) return {unit: only};
  return {
    question: {
      about: "unit",
      role: "time",
      message: only
        ? `Column "${column}" (time) has dates that fit month first and day first, as "${cells[0]}".`
        : `Column "${column}" (time) is written in a way that cannot be read, as "${cells[0]}".`,
      choices: only ? fitting : YIELD_ROLES.time.units,
    },
  };
}

/** What no log can do without. */
function missing(
  columns: Readonly<Partial<Record<YieldRole, ProposedColumn>>>,
  found: ReadonlyMap<YieldRole, readonly Candidate[]>,
  header: readonly string[],
): YieldColumnQuestion[] {
  const questions: YieldColumnQuestion[] = [];
  for (const role of ["x", "y"] as const) {
    if (columns[role] !== undefined) continue;
    const message = `No heading is a known word for the ${YIELD_ROLES[role].means}.`;
    questions.push({about: "position", role, message, choices: header});
  }
  if (columns.flow !== undefined || columns.mass !== undefined) return questions;
  const [first] = dryFirst(found.get("yield") ?? []);
  if (!first) {
    const message = "No heading is a known word for grain flow, grain mass or yield.";
    questions.push({about: "measure", role: "yield", message, choices: header});
  } else if (first.moisture === "wet") {
    questions.push({
      about: "column",
      role: "yield",
      message: `"${first.column}" is yield at the moisture it was cut, and there is no flow to work out the yield at standard moisture from.`,
      choices: [first.column],
    });
  }
  return questions;
}
