import {FieldError, type Issue} from "../errors.ts";
import {formatShort} from "../units/format.ts";
import type {DecimalMark} from "../units/number.ts";
import {ANALYTES, limitsIn} from "./analytes.ts";
import {bareHeading, type MappedColumn, unitInHeading} from "./lab-mapping.ts";
import type {SampleRow} from "./lab-rows.ts";
import {type Cell, readCell} from "./read-cell.ts";
import {sayRows} from "./say-rows.ts";
import type {SoilTest} from "./soil-test.ts";

/** A buffer reading in this range is a lime index: buffer pH times ten. */
const LIME_INDEX = [45, 80] as const;
/** Above this median a phosphorus column without a unit of its own may well be in lb/ac. Common practice, no source. */
const DOUBTFUL_MEDIAN_P = 80;

interface Sheet {
  readonly file: string;
  readonly depthM: number;
  readonly decimal: DecimalMark;
}

/**
 * Reads one analyte down the rows: `tests[i]` belongs to `rows[i]` and is absent where the cell gave no number.
 *
 * Every cell that gives none is named in an issue; cells of one kind share one.
 *
 * @throws {FieldError} `lab/not-numbers` when the column holds text and not one number.
 */
export function readColumn(
  sheet: Sheet,
  column: MappedColumn,
  heading: string,
  rows: readonly SampleRow[],
): {tests: readonly (SoilTest | undefined)[]; issues: readonly Issue[]} {
  const issues: Issue[] = [];
  const told = new Map<string, {row: number; text: string}[]>();
  const tell = (kind: string, {row}: SampleRow, text: string): void => {
    const cells = told.get(kind);
    if (cells) cells.push({row, text});
    else told.set(kind, [{row, text}]);
  };
  const tests = rows.map((sample): SoilTest | undefined => {
    const text = (sample.cells[column.index] ?? "").trim();
    const cell = readCell(text, column.unit, sheet.decimal);
    if (cell.kind !== "value") {
      tell(cell.kind === "other unit" ? "text" : cell.kind, sample, text);
      return undefined;
    }
    if (cell.with) tell(cell.with, sample, text);
    const {value, limeIndex} = asBufferPh(column, cell.value);
    if (limeIndex) tell("lime index", sample, text);
    const verdict = judge(column, value, cell);
    if (verdict !== "fine") tell(verdict, sample, text);
    if (verdict === "impossible") return undefined;
    return {
      sampleId: sample.sampleId,
      analyte: column.analyte,
      value,
      unit: column.unit,
      method: column.method,
      ...(cell.qualifier && {qualifier: cell.qualifier}),
      depthM: sheet.depthM,
      source: {file: sheet.file, row: sample.row, column: column.column},
    };
  });
  const texts = told.get("text") ?? [];
  if (texts.length > 0 && tests.every((test) => test === undefined)) {
    throw new FieldError("lab/not-numbers", `Column "${column.column}" holds "${texts[0]?.text}" and not one number.`, {
      place: {file: sheet.file, row: texts[0]?.row ?? 1, column: column.column},
      hint: "Name the column with the results; ratings and remarks stand in columns of their own.",
    });
  }
  for (const [kind, cells] of told) issues.push(sayOf(kind, sheet, column, cells));
  const doubt = doubtUnit(sheet, column, heading, tests);
  if (doubt) issues.push(doubt);
  return {tests, issues};
}

function asBufferPh(column: MappedColumn, value: number): {value: number; limeIndex: boolean} {
  const limeIndex = column.analyte === "buffer pH" && value >= LIME_INDEX[0] && value <= LIME_INDEX[1];
  return {value: limeIndex ? value / 10 : value, limeIndex};
}

function judge(column: MappedColumn, value: number, {qualifier}: Cell & {kind: "value"}) {
  const {possible, usual} = limitsIn(column.analyte, column.unit, column.method);
  if (value < possible[0] || value > possible[1]) return "impossible";
  // A detection limit or the top of the reading range says nothing of how usual the soil is.
  return qualifier === undefined && (value < usual[0] || value > usual[1]) ? "unusual" : "fine";
}

type Cells = readonly {readonly row: number; readonly text: string}[];

function sayOf(kind: string, sheet: Sheet, column: MappedColumn, cells: Cells): Issue {
  const {analyte, column: name, unit, method} = column;
  const {possible, usual} = limitsIn(analyte, unit, method);
  const rows = sayRows(cells.map(({row}) => row));
  const what = cells.length === 1 ? `"${cells[0]?.text}" in ${rows}` : `${quoteFew(cells)} in ${rows}`;
  const issue = (code: string, severity: Issue["severity"], message: string, hint?: string): Issue => ({
    code,
    severity,
    message: `Column "${name}" (${analyte}): ${message}`,
    place: {file: sheet.file, row: cells[0]?.row ?? 1, column: name},
    ...(hint && {hint}),
  });
  switch (kind) {
    case "missing":
      return analyte === "buffer pH"
        ? issue("lab/missing", "note", `no result in ${rows}, as is usual where soil pH is above about 6.6.`)
        : issue("lab/missing", "warning", `no result in ${rows}.`, "Ask the lab, or go without these samples.");
    case "no limit":
      return issue(
        "lab/no-detection-limit",
        "warning",
        `${what} means below detection, but the limit is not given; no value was made of it.`,
        'Ask the lab for the detection limit and write it as in "<1".',
      );
    case "text":
      return issue("lab/not-a-number", "error", `${what} is not a number in ${unit}; no value was made of it.`);
    case "impossible":
      return issue(
        "lab/impossible",
        "error",
        `${what} is outside ${range(possible)} and was left out.`,
        "Check the unit and the column.",
      );
    case "unusual":
      return issue(
        "lab/unusual",
        "warning",
        `${what} is outside the usual ${range(usual)} and was kept.`,
        "Check it against the paper report.",
      );
    case "lime index":
      return issue("lab/lime-index", "note", `${what} is a lime index; divided by 10 it is the buffer pH.`);
    case "rating":
      return issue(
        "lab/rating-in-cell",
        "note",
        `${what} carries a rating behind the number; the rating was left out.`,
      );
    case "thousands":
      return issue(
        "lab/thousands",
        "warning",
        `${what} was read with a comma between thousands.`,
        'If the comma is a decimal comma, set decimal to ",".',
      );
    default:
      throw new Error(`no words for ${kind}`);
  }

  function range([low, high]: readonly [number, number]): string {
    const label = unit === "pH" ? "" : ` ${unit}`;
    return high === Infinity
      ? `${formatShort(low)}${label} and more`
      : `${formatShort(low)} to ${formatShort(high)}${label}`;
  }
}

function quoteFew(cells: Cells): string {
  const texts = [...new Set(cells.map(({text}) => text))];
  const shown = texts.slice(0, 3).map((text) => `"${text}"`);
  return texts.length > 3 ? `${shown.join(", ")} and others` : shown.join(", ");
}

/** A phosphorus column in ppm that reads like lb/ac, with nothing in its heading to settle it. */
function doubtUnit(
  sheet: Sheet,
  column: MappedColumn,
  heading: string,
  tests: readonly (SoilTest | undefined)[],
): Issue | undefined {
  if (column.analyte !== "P" || column.unit !== ANALYTES.P.units[0] || unitInHeading(bareHeading(heading))) return;
  const values = tests.flatMap((test) => (test ? [test.value] : [])).sort((a, b) => a - b);
  const median = values[Math.floor(values.length / 2)] ?? 0;
  if (median <= DOUBTFUL_MEDIAN_P) return;
  return {
    code: "lab/unit-doubtful",
    severity: "warning",
    message: `Column "${column.column}" (P): half of the results are ${formatShort(median)} or more, which is high for ppm, and the heading names no unit.`,
    place: {file: sheet.file, row: 1, column: column.column},
    hint: "Check on the lab's report whether the unit is lb/ac.",
  };
}
