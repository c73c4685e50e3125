/** One column of a table in plain text. */
export interface TextColumn {
  /** Lines of the heading, the unit last. */
  readonly head: readonly string[];
  /** Text to the left, figures to the right. */
  readonly align: "left" | "right";
  readonly cells: readonly string[];
}

const GAP = "   ";

/**
 * Lines of a table as a handbook sets it: headings over a rule, figures flush right, no boxes.
 *
 * A table wider than the page goes on below with its first column repeated. Widths count characters, not screen cells.
 */
export function tableLines(columns: readonly TextColumn[], width: number): string[] {
  const [first, ...rest] = columns;
  if (!first) return [];
  const parts: TextColumn[][] = [];
  let part: TextColumn[] = [];
  for (const column of rest) {
    if (part.length > 0 && widthOf([first, ...part, column]) > width) {
      parts.push(part);
      part = [];
    }
    part.push(column);
  }
  parts.push(part);
  return parts.flatMap((columnsOfPart, i) => [...(i > 0 ? [""] : []), ...partLines([first, ...columnsOfPart])]);
}

/** Words broken into lines of at most `width` characters; a longer word stands alone. */
export function wrapWords(text: string, width: number): string[] {
  const lines: string[] = [];
  let line = "";
  for (const word of text.split(/\s+/).filter((w) => w !== "")) {
    if (line !== "" && line.length + 1 + word.length > width) {
      lines.push(line);
      line = word;
    } else {
      line = line === "" ? word : `${line} ${word}`;
    }
  }
  if (line !== "") lines.push(line);
  return lines;
}

function partLines(columns: readonly TextColumn[]): string[] {
  const headLines = Math.max(...columns.map(({head}) => head.length));
  const rows = Math.max(...columns.map(({cells}) => cells.length));
  const lines: string[] = [];
  for (let i = 0; i < headLines; i++) {
    // Headings stand on the rule: short ones start lower.
    lines.push(joined(columns, ({head}) => head[i - headLines + head.length] ?? ""));
  }
  lines.push("─".repeat(widthOf(columns)));
  for (let row = 0; row < rows; row++) lines.push(joined(columns, ({cells}) => cells[row] ?? ""));
  return lines;
}

function joined(columns: readonly TextColumn[], textOf: (column: TextColumn) => string): string {
  const cells = columns.map((column) =>
    column.align === "left" ? textOf(column).padEnd(columnWidth(column)) : textOf(column).padStart(columnWidth(column)),
  );
  return cells.join(GAP).trimEnd();
}

function widthOf(columns: readonly TextColumn[]): number {
  return columns.reduce((sum, column) => sum + columnWidth(column), 0) + GAP.length * (columns.length - 1);
}

function columnWidth({head, cells}: TextColumn): number {
  return [...head, ...cells].reduce((most, text) => Math.max(most, text.length), 0);
}
