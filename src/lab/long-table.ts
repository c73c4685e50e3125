import type {Table} from "../table.ts";
import {METRES_PER_INCH} from "../units/factors.ts";
import {chooseRecords} from "./choose-records.ts";
import {findColumn} from "./lab-mapping.ts";
import type {LabRecord} from "./lab-record.ts";
import type {LabResults} from "./read-lab.ts";
import {type RecordOptions, readRecords} from "./read-records.ts";

/** What the columns of a long table mean: one row a result. */
export interface LongMapping extends RecordOptions {
  readonly sampleId: string;
  readonly analyte: string;
  readonly value: string;
  readonly unit?: string;
  readonly method?: string;
  readonly field?: string;
  readonly date?: string;
  /** Text such as "0-8 in"; a depth without a unit is not read. */
  readonly depth?: string;
  /** Takes one field, day or depth of a file that holds many. */
  readonly only?: {readonly field?: string; readonly date?: string; readonly depthM?: number};
}

/**
 * Reads a lab's table that has one row for each result.
 *
 * @throws {FieldError} `lab/no-column`, `lab/column-twice`, and those of `readRecords` and `chooseRecords`.
 */
export function readLongLab(table: Table, mapping: LongMapping): LabResults {
  const records = longRecords(table, mapping);
  return readRecords(table.file, mapping.only ? chooseRecords(records, mapping.only) : records, mapping);
}

/** The results of a long table in the file's own words. Rows that are wholly blank are passed over. */
export function longRecords(table: Table, mapping: Omit<LongMapping, "answers">): readonly LabRecord[] {
  const at = (column: string | undefined) => (column === undefined ? -1 : findColumn(table, column));
  const [id, analyte, value, unit, method, field, date, depth] = [
    mapping.sampleId,
    mapping.analyte,
    mapping.value,
    mapping.unit,
    mapping.method,
    mapping.field,
    mapping.date,
    mapping.depth,
  ].map(at) as [number, number, number, number, number, number, number, number];
  return table.rows.flatMap((cells, i) => {
    if (cells.every((cell) => cell.trim() === "")) return [];
    const text = (index: number): string => (cells[index] ?? "").trim();
    const depthM = depthFromText(text(depth));
    return [
      {
        sampleId: text(id),
        field: text(field),
        date: text(date),
        ...(depthM !== undefined && {depthM}),
        analyte: text(analyte),
        value: text(value),
        unit: text(unit),
        method: text(method),
        row: table.firstRow + i,
      },
    ];
  });
}

/** The lower end of "0-8 in", "0 to 20 cm" or "8 inches", metres; undefined without a number and a unit. */
export function depthFromText(text: string): number | undefined {
  const match = /^(?:(\d+(?:\.\d+)?)\s*(?:-|–|to)\s*)?(\d+(?:\.\d+)?)\s*(in|inch|inches|"|cm)\.?$/i.exec(text.trim());
  if (!match) return undefined;
  const metres = Number(match[2]) * ((match[3] as string).toLowerCase() === "cm" ? 0.01 : METRES_PER_INCH);
  return metres > 0 && metres <= 3 ? metres : undefined;
}
