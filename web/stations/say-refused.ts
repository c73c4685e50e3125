import type {ApiProblem} from "../api/types.ts";

/** Why a setting was refused, by the words it stands under on the page. */
export function saySettingRefused(
  {message, hint = ""}: Pick<ApiProblem, "message" | "hint">,
  path: readonly (string | number)[],
  label: string,
): string {
  const key = path.join(".");
  const isIt = message.startsWith(key) && !message.startsWith(`${key}.`);
  if (!isIt) return `${message} ${hint}`.trim();
  const words = `${label}${message.slice(key.length)}`;
  return hint.includes("docs/") ? words : `${words} ${hint}`.trim();
}

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
