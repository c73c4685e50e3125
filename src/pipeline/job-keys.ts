import type {z} from "zod";

// What a schema knows at a place, found by walking its definition.

type Definition = {
  type: string;
  innerType?: z.core.$ZodType;
  options?: z.core.$ZodType[];
  element?: z.core.$ZodType;
  valueType?: z.core.$ZodType;
  shape?: Record<string, z.core.$ZodType>;
  entries?: Record<string, unknown>;
  values?: unknown[];
};

/** The settings known at a path. */
export function knownKeys(root: z.core.$ZodType, path: readonly string[]): string[] {
  return schemasAt(root, path).flatMap((schema) => Object.keys(definitionOf(schema).shape ?? {}));
}

/** The words known at a path, where not every text will do. */
export function knownValues(root: z.core.$ZodType, path: readonly string[]): unknown[] {
  return schemasAt(root, path).flatMap((schema) => {
    const {entries, values} = definitionOf(schema);
    return values ?? Object.values(entries ?? {});
  });
}

function schemasAt(root: z.core.$ZodType, path: readonly string[]): z.core.$ZodType[] {
  let schemas: z.core.$ZodType[] = [root];
  for (const step of path) schemas = schemas.flatMap(unwrap).flatMap((schema) => inside(schema, step));
  return schemas.flatMap(unwrap);
}

const definitionOf = (schema: z.core.$ZodType): Definition => schema._zod.def as unknown as Definition;

function unwrap(schema: z.core.$ZodType): z.core.$ZodType[] {
  const {innerType, options} = definitionOf(schema);
  if (innerType) return unwrap(innerType);
  if (options) return options.flatMap(unwrap);
  return [schema];
}

function inside(schema: z.core.$ZodType, step: string): z.core.$ZodType[] {
  const {element, valueType, shape} = definitionOf(schema);
  if (element) return [element];
  if (valueType) return [valueType];
  const found = shape && Object.hasOwn(shape, step) ? shape[step] : undefined;
  return found ? [found] : [];
}
