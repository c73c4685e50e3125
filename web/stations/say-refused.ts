import type {ApiProblem} from "../api/types.ts";

/** Why a row was refused, with the words of the page in place of the job's own: "Yield goal of crop 1". */
export function sayRefused(
  {message, hint = ""}: Pick<ApiProblem, "message" | "hint">,
  path: readonly (string | number)[],
  one: string,
  columns: readonly {readonly key: string; readonly label: string}[],
): string {
  const start = `${path.join(".")}.`;
  const [, number, key] = message.startsWith(start) ? (/^(\d+)\.(\w+)/.exec(message.slice(start.length)) ?? []) : [];
  const column = columns.find((each) => each.key === key);
  if (number === undefined || !column) return `${message} ${hint}`.trim();
  const rest = message.slice(start.length + number.length + 1 + column.key.length);
  const words = `${column.label} of ${one} ${Number(number) + 1}${rest}`;
  return hint.includes("docs/") ? words : `${words} ${hint}`.trim();
}
