/** A text table as it stands in the user's file: nothing interpreted, nothing dropped. */
export interface Table {
  readonly file: string;
  readonly header: readonly string[];
  /** As many cells as the header; `rows[i]` stands at file row `firstRow + i` (1-based, the header is row 1). */
  readonly rows: readonly (readonly string[])[];
  readonly firstRow: number;
}
