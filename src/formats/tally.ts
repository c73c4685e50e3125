import type {Issue, Place} from "../errors.ts";

/** How one kind of remark reads; the message is `says: 3 rows (4, 9 and 12).` */
export interface Kind {
  readonly severity: Issue["severity"];
  readonly says: string;
  readonly hint?: string;
}

/** Counts one remark over many rows, so that a file with ten thousand bad rows gets one line, not ten thousand. */
export interface Tally<Code extends string> {
  /** Two remarks of one kind about the same row count once. Rows come in rising order. */
  readonly add: (code: Code, at: number) => void;
  readonly count: (code: Code) => number;
  /** One issue for each code that occurred, in the order of the table of kinds. */
  readonly issues: () => Issue[];
}

const SHOWN = 5;

/** @param noun - What is counted, singular: "row", "feature". The first few numbers are shown. */
export function makeTally<Code extends string>(
  noun: "row" | "feature" | "record",
  place: Place,
  kinds: Readonly<Record<Code, Kind>>,
): Tally<Code> {
  const found = new Map<Code, {count: number; last: number; first: number[]}>();
  return {
    add(code, at) {
      const entry = found.get(code);
      if (!entry) {
        found.set(code, {count: 1, last: at, first: [at]});
      } else if (entry.last !== at) {
        entry.last = at;
        if (entry.count++ < SHOWN) entry.first.push(at);
      }
    },
    count: (code) => found.get(code)?.count ?? 0,
    issues: () =>
      (Object.keys(kinds) as Code[]).flatMap((code) => {
        const entry = found.get(code);
        if (!entry) return [];
        const {severity, says, hint} = kinds[code];
        return [
          {
            code,
            severity,
            message: `${says}: ${whereText(noun, entry.count, entry.first)}.`,
            place: noun === "row" ? {...place, row: entry.first[0] as number} : place,
            ...(hint ? {hint} : {}),
          },
        ];
      }),
  };
}

function whereText(noun: string, count: number, first: readonly number[]): string {
  if (count === 1) return `${noun} ${first[0]}`;
  const shown =
    count > first.length
      ? `${first.join(", ")} and ${count - first.length} more`
      : `${first.slice(0, -1).join(", ")} and ${first.at(-1)}`;
  return `${count} ${noun}s (${shown})`;
}
