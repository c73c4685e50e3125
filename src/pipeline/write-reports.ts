import type {FileSet} from "../formats/file-set.ts";
import {encodeUtf8} from "../formats/text.ts";
import {writeTable} from "../formats/write-table.ts";
import {growerReportHtml} from "../report/grower-report.ts";
import {recordHtml} from "../report/record-report.ts";
import {reportTables} from "../report/record-tables.ts";
import type {ReportModel} from "../report/report-model.ts";
import {tableCsvRows, tablesJson} from "../report/report-table.ts";

export type Paper = "letter" | "a4";

/** The field report, the record, and every table of both as CSV and JSON. */
export function reportFiles(model: ReportModel, paper: Paper): Map<string, Uint8Array> {
  const tables = reportTables(model);
  return new Map([
    ["field-report.html", encodeUtf8(growerReportHtml(model, paper))],
    ["record.html", encodeUtf8(recordHtml(model, paper))],
    ["tables.json", encodeUtf8(tablesJson(tables))],
    ...tables.map((table): [string, Uint8Array] => {
      const {header, rows} = tableCsvRows(table);
      return [`table-${table.id}.csv`, writeTable(header, rows)];
    }),
  ]);
}

/** What the record says of each input. */
export async function inputsOf(
  files: FileSet,
  sha256: (bytes: Uint8Array) => Promise<string>,
): Promise<{name: string; bytes: number; sha256: string}[]> {
  return Promise.all(
    [...files].map(async ([name, bytes]) => ({name, bytes: bytes.length, sha256: await sha256(bytes)})),
  );
}
