import {nearestName} from "../units/nearest-name.ts";

/** Ids are the same when they agree after trimming and upper-casing; leading zeros, spaces inside and signs count. */
export function idKey(id: string): string {
  return id.trim().toUpperCase();
}

/** What a spreadsheet made of an id, where it shows: "1-2" turned into "2-Jan", a long number into "1.00E+05". */
export function spreadsheetDamage(id: string): "a date" | "a rounded number" | undefined {
  const text = id.trim().toLowerCase();
  const month =
    "(jan(uary)?|feb(ruary)?|mar(ch)?|apr(il)?|may|june?|july?|aug(ust)?|sept?(ember)?|oct(ober)?|nov(ember)?|dec(ember)?)";
  const dates = [
    new RegExp(`^\\d{1,4}[-/ ]${month}([-/ ]\\d{1,4})?$`),
    new RegExp(`^${month}[-/ ]\\d{1,4}([-/, ]{1,2}\\d{1,4})?$`),
    /^\d{1,2}[/.-]\d{1,2}[/.-](\d{2}|\d{4})$/,
    /^\d{4}-\d{2}-\d{2}([t ]\d{2}:\d{2}(:\d{2})?)?$/,
  ];
  if (dates.some((date) => date.test(text))) return "a date";
  return /^\d(\.\d+)?e\+\d+$/.test(text) ? "a rounded number" : undefined;
}

/** The id a person most likely meant. Never used to join, only to help. */
export function nearestId(wrong: string, ids: readonly string[]): string | undefined {
  const withoutZeros = (id: string): string => idKey(id).replaceAll(/(^|\D)0+(?=\d)/g, "$1");
  return ids.find((id) => withoutZeros(id) === withoutZeros(wrong)) ?? nearestName(wrong, ids);
}
