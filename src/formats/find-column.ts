import {FieldError} from "../errors.ts";
import type {Table} from "../table.ts";
import {nearestName} from "../units/nearest-name.ts";

/**
 * Index of a column by its heading: exactly as written, else without case, spaces and punctuation when only one fits.
 *
 * @throws {FieldError} `points/no-column` with the nearest heading, `points/which-column` when several fit.
 */
export function findColumn(table: Table, heading: string): number {
  const exact = table.header.indexOf(heading);
  if (exact >= 0) return exact;
  const bare = (text: string): string => text.toLowerCase().replace(/[^\p{L}\p{N}%]/gu, "");
  const fitting = table.header.flatMap((name, i) => (bare(name) === bare(heading) ? [i] : []));
  if (fitting.length === 1) return fitting[0] as number;
  const place = {file: table.file, column: heading};
  if (fitting.length > 1) {
    const names = fitting.map((i) => `"${table.header[i]}"`).join(" and ");
    throw new FieldError("points/which-column", `"${heading}" fits ${names} in ${table.file}.`, {
      place,
      hint: "Write the heading exactly as it stands in the file.",
    });
  }
  const near = nearestName(heading, table.header);
  throw new FieldError("points/no-column", `${table.file} has no column "${heading}".`, {
    place,
    hint: near ? `Did you mean "${near}"?` : `Its columns are: ${table.header.slice(0, 30).join(", ")}.`,
  });
}
