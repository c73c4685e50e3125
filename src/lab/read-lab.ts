import type {Issue} from "../errors.ts";
import type {Table} from "../table.ts";
import type {DecimalMark} from "../units/number.ts";
import {checkCations} from "./check-cations.ts";
import {type LabMapping, resolveMapping} from "./lab-mapping.ts";
import {sampleRows} from "./lab-rows.ts";
import {mergeRepeats} from "./merge-repeats.ts";
import {readColumn} from "./read-column.ts";
import type {SoilTest} from "./soil-test.ts";

/** Results as the lab reported them, and everything in the file that gave none. */
export interface LabResults {
  readonly tests: readonly SoilTest[];
  readonly issues: readonly Issue[];
}

/**
 * Reads a lab's table of results: one row a sample, one column an analyte.
 *
 * Every cell of the mapped columns ends as a value or in an issue. Blank is never zero, and nothing is converted:
 * see `toMgPerKg`. The one reading aid is a buffer pH printed as a lime index (45 to 80), divided by 10 and said so.
 *
 * @param mapping - What the columns mean; unit and method are required for each.
 * @param options.decimal - The decimal sign of the file, `"."` by default.
 * @throws {FieldError} when the mapping does not fit the file (see `resolveMapping`), when the file contradicts it
 *   (`lab/unit-differs`, `lab/method-differs`, `lab/oxide`), when a column holds no number (`lab/not-numbers`), when
 *   two rows of one sample differ (`lab/duplicate-differs`), and when there is nothing to read (`lab/no-rows`).
 */
export function readLab(table: Table, mapping: LabMapping, options: {readonly decimal?: DecimalMark} = {}): LabResults {
  const mapped = resolveMapping(table, mapping);
  const sheet = {file: table.file, depthM: mapped.depthM, decimal: options.decimal ?? "."};
  const {rows, issues} = sampleRows(table, mapped);
  const columns = mapped.analytes.map((column) => readColumn(sheet, column, table.header[column.index] ?? "", rows));
  const perRow = rows.map((_, i) => columns.flatMap(({tests}) => tests[i] ?? []));
  const merged = mergeRepeats(table.file, rows, perRow);
  return {
    tests: merged.tests,
    issues: [
      ...issues,
      ...columns.flatMap((column) => column.issues),
      ...merged.issues,
      ...checkCations(table.file, merged.tests),
    ],
  };
}
