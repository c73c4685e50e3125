import type {EditOutcome, ZoneEdit, ZonePlace} from "../../api/types.ts";

/** An edit in words, with zones by the numbers they had. */
export function sayEdit(edit: ZoneEdit): string {
  const words = wordsOf(edit);
  return `${words.charAt(0).toUpperCase()}${words.slice(1)}`;
}

/** Where an edit is about. */
export function placeIn(edit: ZoneEdit): {readonly lon: number; readonly lat: number} | undefined {
  const at =
    edit.edit === "merge"
      ? edit.zones[0]?.at
      : edit.edit === "assign" || edit.edit === "pin"
        ? edit.polygon[0]?.[0]
        : edit.zone.at;
  return at && {lon: at[0], lat: at[1]};
}

/** What became of an edit, in words. */
export function sayOutcome(outcome: EditOutcome | undefined): string {
  if (!outcome) return "being worked out";
  return outcome.applied ? "made" : `not made: ${outcome.reason ?? "it no longer applies"}`;
}

function wordsOf(edit: ZoneEdit): string {
  switch (edit.edit) {
    case "merge":
      return `${and(edit.zones.map(numberOf))} made one zone`;
    case "split":
      if ("parts" in edit) return `${numberOf(edit.zone)} split into ${edit.parts} kinds of ground`;
      return `${numberOf(edit.zone)} split by a line${edit.name ? `, the smaller side named ${edit.name}` : ""}`;
    case "assign":
      return `drawn ground given to ${numberOf(edit.to)}`;
    case "rename":
      return `${numberOf(edit.zone)} named ${edit.name}`;
    case "pin":
      return `drawn ground kept as a zone of its own${edit.name ? `, ${edit.name}` : ""}`;
  }
}

const numberOf = ({zone}: ZonePlace): string => (zone === undefined ? "the zone at a place" : `zone ${zone}`);

function and(words: readonly string[]): string {
  return words.length < 2 ? (words[0] ?? "") : `${words.slice(0, -1).join(", ")} and ${words.at(-1)}`;
}
