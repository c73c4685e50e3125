import {type FieldError, type Issue, isFieldError, type Place} from "../errors.ts";

// Results go to stdout, words to stderr.

export function printResult(text: string): void {
  process.stdout.write(text.endsWith("\n") ? text : `${text}\n`);
}

export function say(text: string): void {
  process.stderr.write(`${text}\n`);
}

/** A line that is written over itself on a terminal and not at all elsewhere. */
export function progressLine(text: string): void {
  if (process.stderr.isTTY) process.stderr.write(`\r\x1b[K${text}`);
}

/** Notes of one kind are told once with their number, a handful of warnings of one kind in full, and every error. */
export function sayIssues(issues: readonly Issue[]): void {
  const byCode = new Map<string, Issue[]>();
  for (const issue of issues) byCode.set(issue.code, [...(byCode.get(issue.code) ?? []), issue]);
  const order = {error: 0, warning: 1, note: 2};
  const groups = [...byCode.values()].sort(([a], [b]) => order[a?.severity ?? "note"] - order[b?.severity ?? "note"]);
  for (const group of groups) {
    const most = MOST_OF_A_KIND[group[0]?.severity ?? "note"];
    for (const issue of group.slice(0, most)) {
      say(`  ${issue.severity}: ${issue.message}${where(issue.place)}${issue.hint ? ` ${issue.hint}` : ""}`);
    }
    if (group.length > most) say(`    … and ${group.length - most} more like it`);
  }
}

const MOST_OF_A_KIND = {error: Number.POSITIVE_INFINITY, warning: 5, note: 1};

export function sayFailure(error: unknown): void {
  progressLine("");
  if (!isFieldError(error)) {
    say("This is our fault, not yours. Please report it with the lines below.");
    say(error instanceof Error ? (error.stack ?? error.message) : String(error));
    return;
  }
  const failure: FieldError = error;
  say(`${failure.message}${where(failure.place)}`);
  if (failure.hint) say(failure.hint);
  sayIssues(failure.issues);
}

function where(place: Place | undefined): string {
  if (!place) return "";
  const parts = [
    place.file,
    place.row === undefined ? undefined : `row ${place.row}`,
    place.column === undefined ? undefined : `column "${place.column}"`,
    place.featureId === undefined ? undefined : `feature ${place.featureId}`,
  ].filter((part) => part !== undefined);
  return parts.length > 0 ? ` (${parts.join(", ")})` : "";
}
