/** `"row 4"`, `"rows 4, 9 and 12"`, `"rows 2, 3, 4, 5, 6, 7 and 32 more"`. */
export function sayRows(rows: readonly number[]): string {
  if (rows.length === 1) return `row ${rows[0]}`;
  const shown = rows.length > 8 ? rows.slice(0, 6) : rows.slice(0, -1);
  const last = rows.length > 8 ? `${rows.length - 6} more` : rows.at(-1);
  return `rows ${shown.join(", ")} and ${last}`;
}
