import {formatNumber} from "../units/format.ts";

/** The first few names and how many more there are. */
export function someOf(names: readonly string[], most = 6): string {
  const shown = names.slice(0, most).join(", ");
  return names.length > most ? `${shown} and ${names.length - most} more` : shown;
}

/** `1 polygon`, `1,204 polygons`. */
export function many(count: number, noun: string): string {
  return `${formatNumber(count)} ${noun}${count === 1 ? "" : "s"}`;
}
