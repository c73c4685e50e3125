import {formatShort} from "../units/format.ts";
import type {Cited} from "./guide.ts";

/** A guide's number as its page prints it: marked when it was not seen in print. */
export const cited = ({value, basis}: Cited): string =>
  basis === "printed" ? formatShort(value, 4) : `${formatShort(value, 4)} *(${basis})*`;

/** "Buildup: 20 lb raise the test by 1 ppm.", or nothing where the number carries no note. */
export function note(what: string, from: Cited | undefined): string[] {
  return from?.note ? [`${what}: ${from.note}.`] : [];
}

export const list = (items: readonly string[]): string => items.map((item) => `- ${item}`).join("\n");

export function table(head: readonly string[], rows: readonly (readonly string[])[]): string {
  const line = (cells: readonly string[]): string => `| ${cells.join(" | ")} |`;
  return [line(head), line(head.map(() => "---")), ...rows.map(line)].join("\n");
}
