import {FieldError, type Issue} from "../errors.ts";
import type {Table} from "../table.ts";
import {findUnit} from "./analytes.ts";
import {type Mapped, refuseOtherUnit} from "./lab-mapping.ts";
import {spreadsheetDamage} from "./sample-id.ts";

/** A row that holds results, with the id as written (outer spaces off). */
export interface SampleRow {
  /** Row in the file, the header being row 1. */
  readonly row: number;
  readonly sampleId: string;
  readonly cells: readonly string[];
}

const SUMMARY =
  /^(grand )?(total|sum|count|average|avg\.?|mean|median|min|minimum|max|maximum|std\.?( dev\.?)?|stdev)$/;

/**
 * The rows that hold a sample's results. Rows that hold something else (units, averages, the header again, a remark)
 * are left out, each with an issue; wholly blank rows are passed over.
 *
 * @throws {FieldError} `lab/unit-differs` when a row of units contradicts the mapping, `lab/no-rows` when none is left.
 */
export function sampleRows(table: Table, mapped: Mapped): {rows: readonly SampleRow[]; issues: readonly Issue[]} {
  const rows: SampleRow[] = [];
  const issues: Issue[] = [];
  let elsewhere = 0;
  table.rows.forEach((cells, i) => {
    const row = table.firstRow + i;
    const leave = (code: string, severity: "note" | "warning", message: string, hint?: string): void => {
      issues.push({code, severity, message, place: {file: table.file, row}, ...(hint && {hint})});
    };
    if (cells.every((cell) => cell.trim() === "")) return;
    const sampleId = (cells[mapped.sampleId.index] ?? "").trim();
    if (isUnitRow(cells, mapped)) {
      refuseContradiction(table, mapped, cells, row);
      leave("lab/unit-row", "note", `Row ${row} holds units, not results; it agrees with the mapping.`);
    } else if (mapped.analytes.every(({index}) => cells[index]?.trim() === table.header[index]?.trim())) {
      leave("lab/header-row", "note", `Row ${row} is the header again; it was passed over.`);
    } else if (isSummary(sampleId || firstText(cells))) {
      leave(
        "lab/summary-row",
        "note",
        `Row ${row} ("${firstText(cells)}") is a summary, not a sample; it was left out.`,
      );
    } else if (mapped.only.some(({index, is}) => loose(cells[index] ?? "") !== loose(is))) {
      elsewhere++;
    } else if (mapped.analytes.every(({index}) => isEmpty(cells[index] ?? "", sampleId))) {
      const name = sampleId || firstText(cells);
      leave("lab/empty-row", "warning", `Row ${row} ("${name}") has no result in any of the columns asked for.`);
    } else if (sampleId === "") {
      leave(
        "lab/no-sample-id",
        "warning",
        `Row ${row} has results but no sample id; it was left out.`,
        "Write the sample id into the file; rows are never matched by their order.",
      );
    } else {
      const damage = spreadsheetDamage(sampleId);
      if (damage) {
        leave(
          "lab/id-looks-damaged",
          "warning",
          `Sample id "${sampleId}" in row ${row} looks like ${damage} that a spreadsheet made of the real id.`,
          "Format the id column as text and enter the ids again, or ask the lab for the original file.",
        );
      }
      rows.push({row, sampleId, cells});
    }
  });
  if (elsewhere > 0) {
    const asked = mapped.only.map(({column, is}) => `${column} is "${is}"`).join(" and ");
    issues.push({
      code: "lab/other-rows",
      severity: "note",
      message: `${elsewhere} rows were left out because only rows where ${asked} were asked for.`,
      place: {file: table.file},
    });
  }
  if (rows.length === 0) {
    throw new FieldError("lab/no-rows", `${table.file} holds no row with a sample id and a result.`, {
      place: {file: table.file},
      hint: "Check the sample id column, the analyte columns and any choice of rows.",
      issues,
    });
  }
  return {rows, issues};
}

/** True for the words that stand before sums and averages under a table. */
export function isSummary(text: string): boolean {
  return SUMMARY.test(loose(text).replace(/\s*:$/, ""));
}

/** Every result cell is blank or a unit, and at least one is a unit; a number or a rating makes it a sample. */
function isUnitRow(cells: readonly string[], mapped: Mapped): boolean {
  const texts = mapped.analytes.map(({index}) => (cells[index] ?? "").trim()).filter((text) => text !== "");
  return texts.length > 0 && texts.every((text) => findUnit(bare(text)) !== undefined || isOxide(text));
}

function refuseContradiction(table: Table, mapped: Mapped, cells: readonly string[], row: number): void {
  for (const column of mapped.analytes) {
    const text = (cells[column.index] ?? "").trim();
    if (isOxide(text)) {
      throw new FieldError("lab/oxide", `Column "${column.column}" is in "${text}": a soil test given as an oxide.`, {
        place: {file: table.file, row, column: column.column},
        hint: "Ask the lab for elemental P and K: soil tests are elemental, only fertilizer is in oxides.",
      });
    }
    const unit = findUnit(bare(text));
    if (unit) refuseOtherUnit(table, column, unit, row);
  }
}

/** Blank, or words in a row of no sample: methods or remarks under the heading. */
const isEmpty = (cell: string, sampleId: string): boolean =>
  cell.trim() === "" || (sampleId === "" && !/\d/.test(cell));
const isOxide = (text: string): boolean => /p2o5|k2o/i.test(text);
const bare = (text: string): string => text.replace(/^[([]\s*/, "").replace(/\s*[)\]]$/, "");
const loose = (text: string): string => text.trim().toLowerCase();
const firstText = (cells: readonly string[]): string => cells.find((cell) => cell.trim() !== "")?.trim() ?? "";
