/** How dates and times are written in a column. `h:m:s` has no date: seconds of the day. */
export type ClockFormat = "y-m-d" | "m/d/y" | "d/m/y" | "h:m:s";

export function isClockFormat(unit: string): unit is ClockFormat {
  return ["y-m-d", "m/d/y", "d/m/y", "h:m:s"].includes(unit);
}

const TIME = /^(\d{1,2}):(\d{2})(?::(\d{2}(?:\.\d+)?))?\s*([ap]m)?$/i;
const DATE = /^(\d{1,4})[-/.](\d{1,2})[-/.](\d{1,4})(?:[T\s]+(.*?))?\s*(Z|[-+]\d{2}:?\d{2})?$/i;

/**
 * Seconds of a date and time (since 1970, as if it were UTC where no zone is given), or of the day for `h:m:s`.
 * NaN for anything else.
 */
export function parseClock(text: string, format: ClockFormat): number {
  const trimmed = text.trim();
  if (format === "h:m:s") return secondsOfDay(trimmed);
  const match = DATE.exec(trimmed);
  if (!match) return Number.NaN;
  const [, a, b, c, time, zone] = match;
  const [y, m, d] = format === "y-m-d" ? [a, b, c] : format === "m/d/y" ? [c, a, b] : [c, b, a];
  if (y?.length !== 4) return Number.NaN;
  const days = Date.UTC(Number(y), Number(m) - 1, Number(d)) / 1000;
  // The engine carries a 31 February over into March; a person means a mistake.
  const back = new Date(days * 1000);
  if (back.getUTCMonth() !== Number(m) - 1 || back.getUTCDate() !== Number(d)) return Number.NaN;
  return days + (time ? secondsOfDay(time) : 0) - zoneSeconds(zone);
}

/** The way a column's first cells are written, where that is unmistakable: year first, or a time alone. */
export function clockFormatOf(cells: Iterable<string>): ClockFormat | undefined {
  for (const cell of cells) {
    if (cell.trim() === "") continue;
    if (!Number.isNaN(parseClock(cell, "y-m-d"))) return "y-m-d";
    if (!Number.isNaN(parseClock(cell, "h:m:s"))) return "h:m:s";
    return undefined;
  }
  return undefined;
}

function secondsOfDay(text: string): number {
  const match = TIME.exec(text);
  if (!match) return Number.NaN;
  const [, h, m, s = "0", half] = match;
  const hour = Number(h);
  if (hour > (half ? 12 : 24) || Number(m) > 59 || Number(s) >= 61) return Number.NaN;
  const hours = half ? (hour % 12) + (half.toLowerCase() === "pm" ? 12 : 0) : hour;
  return hours * 3600 + Number(m) * 60 + Number(s);
}

function zoneSeconds(zone: string | undefined): number {
  const match = /^([-+])(\d{2}):?(\d{2})$/.exec(zone ?? "");
  return match ? (match[1] === "-" ? -1 : 1) * (Number(match[2]) * 3600 + Number(match[3]) * 60) : 0;
}
