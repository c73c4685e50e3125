import type {Issue} from "../errors.ts";
import {nearestName} from "../units/nearest-name.ts";

/** Reads one kind of value out of parsed JSON, noting every problem with its path and going on. */
export type Check<T> = (value: unknown, at: string, problems: Issue[]) => T;

/** The fields of an object, each with its check; unknown ones are problems, so that a slip of spelling is not silence. */
export function object<T extends object>(fields: {readonly [K in keyof T]-?: Check<T[K]>}): Check<T> {
  return (value, at, problems) => {
    if (typeof value !== "object" || value === null || Array.isArray(value)) {
      tell(problems, at, `is ${sayKind(value)}, not an object`);
      return {} as T;
    }
    const names = Object.keys(fields);
    for (const key of Object.keys(value)) {
      if (names.includes(key)) continue;
      const nearest = nearestName(key, names);
      tell(
        problems,
        `${at}.${key}`,
        "is not a field of this kind",
        nearest ? `Did you mean "${nearest}"?` : `Use: ${names.join(", ")}.`,
      );
    }
    const out: Record<string, unknown> = {};
    for (const name of names) {
      const given = Object.hasOwn(value, name) ? (value as Record<string, unknown>)[name] : undefined;
      const read = fields[name as keyof T](given, `${at}.${name}`, problems);
      if (read !== undefined) out[name] = read;
    }
    return out as T;
  };
}

export function list<T>(item: Check<T>, least = 1): Check<readonly T[]> {
  return (value, at, problems) => {
    if (!Array.isArray(value)) {
      tell(problems, at, `is ${sayKind(value)}, not a list`);
      return [];
    }
    if (value.length < least) tell(problems, at, `has ${value.length} entries and needs at least ${least}`);
    return value.map((one, i) => item(one, `${at}[${i}]`, problems));
  };
}

/** An object whose keys the writer chooses. */
export function keyed<T>(item: Check<T>): Check<Readonly<Record<string, T>>> {
  return (value, at, problems) => {
    if (typeof value !== "object" || value === null || Array.isArray(value)) {
      tell(problems, at, `is ${sayKind(value)}, not an object`);
      return {};
    }
    return Object.fromEntries(Object.entries(value).map(([key, one]) => [key, item(one, `${at}.${key}`, problems)]));
  };
}

export function optional<T>(inner: Check<T>): Check<T | undefined> {
  return (value, at, problems) => (value === undefined ? undefined : inner(value, at, problems));
}

export const text: Check<string> = (value, at, problems) => {
  if (typeof value === "string" && value.trim() !== "") return value;
  tell(problems, at, value === "" ? "is empty" : `is ${sayKind(value)}, not a text`);
  return "";
};

export const flag: Check<boolean> = (value, at, problems) => {
  if (typeof value === "boolean") return value;
  tell(problems, at, `is ${sayKind(value)}, not true or false`);
  return false;
};

export function number(low = Number.NEGATIVE_INFINITY, high = Number.POSITIVE_INFINITY): Check<number> {
  return (value, at, problems) => {
    if (typeof value !== "number" || !Number.isFinite(value)) tell(problems, at, `is ${sayKind(value)}, not a number`);
    else if (value < low || value > high) tell(problems, at, `is ${value}, outside ${low} to ${high}`);
    else return value;
    return Math.max(low, Math.min(high, 1));
  };
}

export function oneOf<const T extends string>(words: readonly T[]): Check<T> {
  return (value, at, problems) => {
    const found = words.find((word) => word === value);
    if (found !== undefined) return found;
    tell(problems, at, `is ${sayKind(value)}`, `Use one of: ${words.join(", ")}.`);
    return words[0] as T;
  };
}

export function tell(problems: Issue[], at: string, what: string, hint?: string): void {
  problems.push({
    code: "guide/not-valid",
    severity: "error",
    message: `${at} ${what}.`,
    ...(hint && {hint}),
  });
}

function sayKind(value: unknown): string {
  if (value === undefined) return "missing";
  if (value === null) return "null";
  if (Array.isArray(value)) return "a list";
  return typeof value === "object" ? "an object" : JSON.stringify(value);
}
