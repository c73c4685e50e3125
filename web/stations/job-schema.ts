import {signal} from "@preact/signals";
import {api, got} from "../api/client.ts";

/** What a job may hold, as its published JSON Schema has it: as much of that language as the schema uses. */
export interface Shape {
  readonly type?: string;
  readonly description?: string;
  readonly default?: unknown;
  readonly const?: unknown;
  readonly enum?: readonly (string | number)[];
  readonly properties?: Readonly<Record<string, Shape>>;
  readonly required?: readonly string[];
  readonly additionalProperties?: Shape | false;
  readonly propertyNames?: Shape;
  readonly items?: Shape;
  readonly prefixItems?: readonly Shape[];
  readonly anyOf?: readonly Shape[];
  readonly oneOf?: readonly Shape[];
}

/** Absent until the server has answered. */
export const jobShape = signal<Shape | undefined>(undefined);

let asked = false;

export function loadJobShape(): void {
  if (asked) return;
  asked = true;
  got(api["job-schema"].$get()).then(
    (found) => {
      jobShape.value = found as Shape;
    },
    () => {
      asked = false;
    },
  );
}

export const choicesOf = ({anyOf, oneOf}: Shape): readonly Shape[] | undefined => anyOf ?? oneOf;

/** Which of several shapes a value has; the first where none fits, below zero for none at all. */
export function choiceFor(choices: readonly Shape[], value: unknown): number {
  if (value === undefined) return -1;
  const fitting = choices.findIndex((shape) => fits(shape, value));
  return Math.max(0, fitting);
}

function fits(shape: Shape, value: unknown): boolean {
  if (shape.const !== undefined) return shape.const === value;
  if (shape.enum) return shape.enum.includes(value as string);
  const inner = choicesOf(shape);
  if (inner) return inner.some((one) => fits(one, value));
  switch (shape.type) {
    case "object": {
      if (typeof value !== "object" || value === null || Array.isArray(value)) return false;
      const object = value as Readonly<Record<string, unknown>>;
      const known = shape.properties ?? {};
      return Object.entries(object).every(([key, inside]) => {
        const of = known[key];
        return of ? (of.const === undefined && of.enum === undefined ? true : fits(of, inside)) : !shape.properties;
      });
    }
    case "array":
      return Array.isArray(value);
    case "integer":
    case "number":
      return typeof value === "number";
    default:
      return typeof value === shape.type;
  }
}

/** A name for one of several shapes: what it is told apart by. */
export function nameOfChoice(shape: Shape): string {
  if (shape.const !== undefined) return shape.const === true ? "yes" : String(shape.const);
  if (shape.enum) return shape.enum.join(", ");
  const told = Object.values(shape.properties ?? {}).find((one) => one.const !== undefined || one.enum !== undefined);
  if (told && shape.required?.length) return nameOfChoice(told);
  if (shape.properties) return Object.keys(shape.properties).slice(0, 2).map(wordsOf).join(" and ");
  return (
    {string: "in words", number: "a number", integer: "a number", boolean: "yes or no", array: "a list"}[
      shape.type ?? "string"
    ] ?? "a list"
  );
}

/** What a new one begins as: only what tells it from others. */
export function beginning(shape: Shape): unknown {
  if (shape.const !== undefined) return shape.const;
  const choices = choicesOf(shape);
  if (choices) return beginning(choices[0] as Shape);
  if (shape.properties) {
    const begun = Object.entries(shape.properties).flatMap(([key, of]) => {
      if (!shape.required?.includes(key)) return [];
      const value = of.const ?? of.enum?.[0];
      return value === undefined ? [] : [[key, value] as const];
    });
    return Object.fromEntries(begun);
  }
  return {object: {}, array: [], boolean: true}[shape.type ?? ""] ?? (shape.enum?.[0] as string | undefined) ?? "";
}

/** "buildupYears" to "buildup years", "availablePct" to "available %". */
export const wordsOf = (key: string): string =>
  key
    .replace(/Pct$/, " %")
    .replace(/([a-z])([A-Z])/g, (_, before: string, after: string) => `${before} ${after.toLowerCase()}`)
    .trim();
