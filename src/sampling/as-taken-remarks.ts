import type {Issue} from "../errors.ts";
import {formatLength} from "../units/format.ts";
import type {Metres} from "../units/quantity.ts";
import type {TakenUnit} from "./as-taken.ts";

/** What the user should know of bags and cores after sampling. */
export function remarksOnTaken(units: readonly TakenUnit[], tolerance: Metres): Issue[] {
  const issues: Issue[] = [];
  const say = (code: string, severity: Issue["severity"], message: string, hint?: string): void => {
    issues.push({code, severity, message, ...(hint && {hint})});
  };
  const skipped = units.filter((unit) => unit.skipped !== undefined && unit.cores.length === 0);
  if (skipped.length > 0) {
    const named = skipped.map(({id, skipped: why}) => (why ? `${id} (${why})` : id));
    say(
      "taken/skipped",
      "warning",
      `${count(skipped.length, "bag was", "bags were")} left out by the crew: ${some(named)}.`,
    );
  }
  const both = units.filter((unit) => unit.skipped !== undefined && unit.cores.length > 0);
  if (both.length > 0) {
    say(
      "taken/skipped-and-taken",
      "warning",
      `The log says both that ${some(both.map(({id}) => id))} ${both.length === 1 ? "was" : "were"} left out and that cores were taken there.`,
      "Ask the crew whether there is a bag.",
    );
  }
  const silent = units.filter((unit) => unit.cores.length === 0 && unit.skipped === undefined);
  if (silent.length > 0) {
    say(
      "taken/not-logged",
      "warning",
      `The log says nothing of ${count(silent.length, "bag", "bags")}: ${some(silent.map(({id}) => id))}.`,
      "Ask the crew whether they were taken.",
    );
  }
  const fewer = units.filter(({cores, planned}) => cores.length > 0 && cores.length < planned);
  if (fewer.length > 0) {
    say(
      "taken/fewer-cores",
      "note",
      `Fewer cores than planned in ${some(fewer.map(({id, cores, planned}) => `${id} (${cores.length} of ${planned})`))}: the mean of such a bag is less sure.`,
    );
  }
  const more = units.filter(({cores, planned}) => cores.length > planned);
  if (more.length > 0) {
    say(
      "taken/more-cores",
      "note",
      `More cores than planned in ${some(more.map(({id, cores, planned}) => `${id} (${cores.length} of ${planned})`))}.`,
    );
  }
  const all = units.flatMap(({cores}) => cores);
  const elsewhere = all.filter(({on, fellIn}) => fellIn !== undefined && fellIn !== on);
  if (elsewhere.length > 0) {
    const named = elsewhere.map(({bag, number, fellIn}) => `${coreName(bag, number)} on ${fellIn}`);
    say(
      "taken/other-unit",
      "warning",
      `${count(elsewhere.length, "core was", "cores were")} taken on the ground of another bag: ${some([...new Set(named)])}. The results of such bags mix two grounds.`,
      "Sample them again where the share is large.",
    );
  }
  const outside = all.filter(({fellIn}) => fellIn === undefined);
  if (outside.length > 0) {
    const named = outside.map(({bag, number}) => coreName(bag, number));
    say(
      "taken/outside",
      "warning",
      `${count(outside.length, "core was", "cores were")} taken outside the field: ${some(named)}.`,
    );
  }
  const far = all.filter((core) => core.fellIn === core.on && core.off);
  if (far.length > 0) {
    const most = Math.max(...far.map(({distance = 0}) => distance));
    say(
      "taken/off-mark",
      "note",
      `${count(far.length, "core lies", "cores lie")} more than ${formatLength(tolerance)} from the mark, up to ${formatLength(most)}, within the right unit.`,
    );
  }
  return issues;
}

// --- inside ---------------------------------------------------------------------------------------------------

const MOST_NAMED = 10;

const coreName = (bag: string, number: number | undefined): string => (number === undefined ? bag : `${bag}-${number}`);

function some(named: readonly string[]): string {
  const more = named.length - MOST_NAMED;
  return named.slice(0, MOST_NAMED).join(", ") + (more > 0 ? ` and ${more} more` : "");
}

function count(n: number, one: string, many: string): string {
  return `${n} ${n === 1 ? one : many}`;
}
