import type {z} from "zod";
import {FieldError, type Issue} from "../errors.ts";
import {nearestName} from "../units/nearest-name.ts";
import {type Job, jobSchema} from "./job.ts";

/**
 * A job file's text to a job with all defaults filled in.
 *
 * @throws {FieldError} `job/not-json` with the place; `job/not-valid` listing everything that is wrong at once,
 *   unknown keys with the nearest known one.
 */
export function readJob(text: string, file: string): Job {
  let json: unknown;
  try {
    json = JSON.parse(text.replace(/^\uFEFF/, ""));
  } catch (error) {
    throw new FieldError("job/not-json", `${file} is not JSON: ${(error as Error).message}.`, {
      place: {file},
      hint: "Check the commas, quotes and brackets near there.",
    });
  }
  const result = jobSchema.safeParse(json);
  if (result.success) return result.data;
  // A mistyped name explains the missing one, so it is told first.
  const found = result.error.issues.flatMap((issue) => explain(issue, json));
  const issues = [...found.filter(isUnknownKey), ...found.filter((issue) => !isUnknownKey(issue))];
  const [first] = issues as [Issue, ...Issue[]];
  throw new FieldError("job/not-valid", first.message, {
    place: {file},
    hint: first.hint ?? "See docs/job.md for what a job may hold.",
    issues: issues.slice(1),
  });
}

const isUnknownKey = (issue: Issue): boolean => issue.message.includes(" is not a setting of ");

function explain(issue: z.core.$ZodIssue, json: unknown): Issue[] {
  const path = issue.path.map(String);
  const at = path.length > 0 ? path.join(".") : "the job";
  const make = (message: string, hint?: string): Issue => ({
    code: "job/not-valid",
    severity: "error",
    message,
    ...(hint ? {hint} : {}),
  });
  if (issue.code === "unrecognized_keys") {
    return issue.keys.map((key) => {
      const near = nearestName(key, knownKeys(path));
      return make(`"${key}" is not a setting of ${at}.`, near ? `Did you mean "${near}"?` : "Remove it.");
    });
  }
  if (valueAt(json, issue.path) === undefined) {
    return [make(`${at} is missing.`, "Add it; docs/job.md shows an example.")];
  }
  if (issue.code === "invalid_union") {
    // The branch that got furthest knows best what is wrong.
    const branches = issue.errors.filter((branch) => branch.length > 0);
    const deepest = branches.sort((a, b) => Math.max(...b.map(depth)) - Math.max(...a.map(depth)))[0];
    return (deepest ?? []).flatMap((inner) => explain({...inner, path: [...issue.path, ...inner.path]}, json));
  }
  return [make(`${at}: ${issue.message.replace(/^Invalid input: /, "")}${/[.!?]$/.test(issue.message) ? "" : "."}`)];
}

function valueAt(json: unknown, path: readonly PropertyKey[]): unknown {
  return path.reduce<unknown>((value, key) => (value as Record<PropertyKey, unknown> | undefined)?.[key], json);
}

const depth = (issue: z.core.$ZodIssue): number => issue.path.length + (issue.code === "unrecognized_keys" ? 1 : 0);

/** The settings known at a path of the schema, found by walking its definition. */
function knownKeys(path: readonly string[]): string[] {
  let schemas: z.core.$ZodType[] = [jobSchema];
  for (const step of path) schemas = schemas.flatMap(unwrap).flatMap((schema) => inside(schema, step));
  return schemas.flatMap(unwrap).flatMap((schema) => Object.keys(shapeOf(schema) ?? {}));
}

type Definition = {
  type: string;
  innerType?: z.core.$ZodType;
  options?: z.core.$ZodType[];
  element?: z.core.$ZodType;
  shape?: Record<string, z.core.$ZodType>;
};
const definitionOf = (schema: z.core.$ZodType): Definition => schema._zod.def as unknown as Definition;
const shapeOf = (schema: z.core.$ZodType): Record<string, z.core.$ZodType> | undefined => definitionOf(schema).shape;

function unwrap(schema: z.core.$ZodType): z.core.$ZodType[] {
  const {innerType, options} = definitionOf(schema);
  if (innerType) return unwrap(innerType);
  if (options) return options.flatMap(unwrap);
  return [schema];
}

function inside(schema: z.core.$ZodType, step: string): z.core.$ZodType[] {
  const {element, shape} = definitionOf(schema);
  if (element) return [element];
  const found = shape && Object.hasOwn(shape, step) ? shape[step] : undefined;
  return found ? [found] : [];
}
