import type {z} from "zod";
import type {Issue} from "../errors.ts";
import {formatShort} from "../units/format.ts";
import {nearestName} from "../units/nearest-name.ts";
import {jobSchema} from "./job.ts";
import {knownKeys, knownValues} from "./job-keys.ts";

/** What a validator found wrong with a job, in plain words: where, what stands there, what is wanted, an example. */
export function sayJobFault(issue: z.core.$ZodIssue, json: unknown): Issue[] {
  const path = issue.path.map(String);
  const at = path.length > 0 ? path.join(".") : "the job";
  const found = valueAt(json, issue.path);
  const fault = (message: string, hint?: string): Issue => ({
    code: "job/not-valid",
    severity: "error",
    message,
    ...(hint ? {hint} : {}),
  });
  if (issue.code === "unrecognized_keys") {
    return issue.keys.map((key) => {
      const near = nearestName(key, knownKeys(jobSchema, path));
      return fault(`"${key}" is not a setting of ${at}.`, near ? `Did you mean "${near}"?` : "Remove it.");
    });
  }
  if (found === undefined) return [fault(`${at} is missing.`, "Add it; docs/job.md shows an example.")];
  switch (issue.code) {
    case "invalid_union": {
      const branch = nearestBranch(issue);
      if (branch) return branch.flatMap((inner) => sayJobFault({...inner, path: [...issue.path, ...inner.path]}, json));
      if (issue.errors.length === 0) return [notOneOf(fault, at, found, knownValues(jobSchema, path))];
      const kinds = [...new Set(issue.errors.flatMap((inner) => inner.map(wantedBy)))];
      return [fault(`${at} cannot be ${say(found)}.`, `It takes ${kinds.join(" or ")}.`)];
    }
    case "invalid_value":
      return [notOneOf(fault, at, found, issue.values)];
    case "invalid_type":
      return [wrongType(fault, at, found, issue)];
    case "too_small":
      return [outOfRange(fault, at, found, issue.origin, "at least", Number(issue.minimum), issue.inclusive !== false)];
    case "too_big":
      return [outOfRange(fault, at, found, issue.origin, "at most", Number(issue.maximum), issue.inclusive !== false)];
    case "invalid_format":
      return [fault(`${at} is ${say(found)}, which does not fit.`, `Write ${issue.message}.`)];
    case "invalid_key": {
      const {message} = issue.issues[0] ?? issue;
      return [
        fault(`"${path.at(-1)}" is no name for a setting of ${path.slice(0, -1).join(".")}.`, `Write ${message}.`),
      ];
    }
    default:
      return [fault(`${at}: ${issue.message}${/[.!?]$/.test(issue.message) ? "" : "."}`)];
  }
}

/** Of several forms, the one the setting was meant to have: the one that got furthest, or whose kind it is. */
function nearestBranch(issue: z.core.$ZodIssueInvalidUnion): z.core.$ZodIssue[] | undefined {
  const furthest = issue.errors.toSorted((a, b) => Math.max(...b.map(depth)) - Math.max(...a.map(depth)))[0];
  if (furthest && Math.max(...furthest.map(depth)) > 0) return furthest;
  return issue.errors.find((branch) => branch.some(({code}) => code !== "invalid_type" && code !== "invalid_value"));
}

/** What one form of a setting takes, as in "a whole number". */
function wantedBy(issue: z.core.$ZodIssue): string {
  if (issue.code === "invalid_value") return issue.values.map((value) => JSON.stringify(value)).join(", ");
  if (issue.message.startsWith("Write it ")) return `text ${issue.message.slice("Write it ".length, -1)}`;
  return issue.code === "invalid_type" ? (WANTED[issue.expected]?.words ?? "something else") : "something else";
}

type Fault = (message: string, hint?: string) => Issue;

const WANTED: Readonly<Record<string, {words: string; hint: (found: unknown) => string}>> = {
  string: {words: "text", hint: (found) => `Write it in quotes, as in ${isPlain(found) ? `"${found}"` : '"text"'}.`},
  number: {words: "a number", hint: (found) => `Write it without quotes, as in ${numberIn(found)}.`},
  int: {words: "a whole number", hint: (found) => `Write it without quotes, as in ${Math.round(numberIn(found))}.`},
  boolean: {words: "true or false", hint: () => "Write true or false, without quotes."},
  array: {words: "a list", hint: () => "Put square brackets around it, as in [ … ], also around a single entry."},
  tuple: {words: "a list", hint: () => "Put square brackets around the pair, as in [ …, … ]."},
  object: {words: "settings", hint: () => 'Put braces around them, as in {"setting": … }; docs/job.md lists them.'},
  record: {words: "settings", hint: () => 'Put braces around them, as in {"name": … }; docs/job.md has an example.'},
};

function wrongType(fault: Fault, at: string, found: unknown, issue: z.core.$ZodIssueInvalidType): Issue {
  const wanted = WANTED[issue.expected];
  // A quantity says itself how it is written.
  if (issue.message.startsWith("Write ")) return fault(`${at} is ${say(found)}, which has no unit.`, issue.message);
  if (!wanted) return fault(`${at} is ${say(found)}, which it cannot be.`, "docs/job.md says what it takes.");
  return fault(`${at} is ${say(found)}, not ${wanted.words}.`, wanted.hint(found));
}

function notOneOf(fault: Fault, at: string, found: unknown, values: readonly unknown[]): Issue {
  const names = values.map((value) => JSON.stringify(value));
  const near = typeof found === "string" ? nearestName(found, values.map(String)) : undefined;
  const known = names.length === 1 ? `It can only be ${names[0]}.` : `It is one of ${names.join(", ")}.`;
  return fault(`${at} cannot be ${say(found)}.`, near === undefined ? known : `Did you mean "${near}"? ${known}`);
}

function outOfRange(
  fault: Fault,
  at: string,
  found: unknown,
  origin: string,
  bound: "at least" | "at most",
  limit: number,
  inclusive: boolean,
): Issue {
  const few = (one: string, many: string) => `${bound} ${formatShort(limit)} ${limit === 1 ? one : many}`;
  if (origin === "string") {
    return fault(
      `${at} is ${say(found)}, which is too ${bound === "at least" ? "short" : "long"}.`,
      `Write ${few("letter", "letters")}.`,
    );
  }
  if (origin === "array") {
    const length = Array.isArray(found) ? found.length : 0;
    return fault(`${at} has ${length} ${length === 1 ? "entry" : "entries"}.`, `Give ${few("entry", "entries")}.`);
  }
  const beyond = bound === "at least" ? "above" : "below";
  const wanted = inclusive ? `${bound} ${formatShort(limit)}` : `${beyond} ${formatShort(limit)}`;
  return fault(
    `${at} is ${say(found)}, which is too ${bound === "at least" ? "small" : "large"}.`,
    `Write a number of ${wanted}.`,
  );
}

/** What stands in the job, short enough for a sentence. */
function say(found: unknown): string {
  if (Array.isArray(found)) return "a list";
  if (typeof found === "object" && found !== null) return "settings in braces";
  const text = JSON.stringify(found);
  return text.length > LONGEST ? `${text.slice(0, LONGEST)}…` : text;
}

const LONGEST = 60;

const isPlain = (found: unknown): found is number | boolean => typeof found === "number" || typeof found === "boolean";

function numberIn(found: unknown): number {
  const value = typeof found === "string" ? Number.parseFloat(found) : Number(found);
  return Number.isFinite(value) ? value : 1;
}

function valueAt(json: unknown, path: readonly PropertyKey[]): unknown {
  return path.reduce<unknown>((value, key) => (value as Record<PropertyKey, unknown> | undefined)?.[key], json);
}

const depth = (issue: z.core.$ZodIssue): number => issue.path.length + (issue.code === "unrecognized_keys" ? 1 : 0);
