import {jobJsonSchema} from "./job.ts";
import {JOB_EXAMPLES} from "./job-examples.ts";

type Schema = {
  type?: string;
  description?: string;
  default?: unknown;
  enum?: unknown[];
  const?: unknown;
  properties?: Record<string, Schema>;
  required?: string[];
  items?: Schema | false;
  prefixItems?: Schema[];
  additionalProperties?: Schema | boolean;
  anyOf?: Schema[];
  oneOf?: Schema[];
};

/** The JSON Schema (2020-12) of a job file, for editors: `"$schema": "…/docs/job.schema.json"`. */
export function jobSchemaFile(): string {
  return `${JSON.stringify(jobJsonSchema(), null, 2)}\n`;
}

/**
 * Every setting of a job as Markdown tables, one per section, made from the schema so that it cannot go stale, each
 * main section with an example. Settings that come again are described once.
 */
export function jobReference(): string {
  const page: Page = {sections: [], described: new Map()};
  describe("", jobJsonSchema() as Schema, "", page);
  return page.sections.join("\n");
}

interface Page {
  readonly sections: string[];
  /** Where settings that come again were described. */
  readonly described: Map<string, string>;
}

function describe(path: string, object: Schema, variant: string, page: Page): void {
  const rows: string[] = [];
  const deeper: Found[] = [];
  for (const [name, setting] of Object.entries(object.properties ?? {})) {
    if (name === "$schema") continue;
    const here = path ? `${path}.${name}` : name;
    const inner = objectsIn(setting, here).filter(({path: at, schema}) => at !== path && schema !== object);
    const fresh = inner.filter((found) => !page.described.has(keyOf(found)));
    const known = inner.length > 0 && fresh.length === 0 ? page.described.get(keyOf(inner[0] as Found)) : undefined;
    for (const found of fresh) page.described.set(keyOf(found), found.path);
    deeper.push(...fresh);
    const needed = object.required?.includes(name) ? "needed" : defaultOf(setting);
    const kind = kindOf(setting).replace("settings, below", known ? `settings, as in \`${known}\`` : "settings, below");
    rows.push(`| \`${name}\` | ${kind} | ${needed} | ${setting.description ?? ""} |`);
  }
  const title = path === "" ? "## The job" : `## \`${path}\`${variant}`;
  page.sections.push(
    `${title}\n\n| setting | what it takes | default | what it says |\n|---|---|---|---|\n${rows.join("\n")}\n${exampleOf(path)}`,
  );
  for (const found of deeper) describe(found.path, found.schema, found.variant, page);
}

interface Found {
  readonly path: string;
  readonly schema: Schema;
  /** Which of several forms it is, as in ", `kind` `manure`". */
  readonly variant: string;
}

const keyOf = ({schema}: Found): string => JSON.stringify(schema.properties);

/** The settings within a setting: its own, those of its entries, and each of several forms. */
function objectsIn(setting: Schema, path: string): Found[] {
  if (setting.properties) return [{path, schema: setting, variant: ""}];
  if (setting.items) return objectsIn(setting.items, `${path}[]`);
  if (typeof setting.additionalProperties === "object")
    return objectsIn(setting.additionalProperties, `${path}.<name>`);
  const forms = setting.oneOf ?? [];
  if (forms.length > 0) return forms.flatMap((schema) => ({path, schema, variant: variantOf(schema)}));
  return (setting.anyOf ?? []).flatMap((form) => objectsIn(form, path));
}

/** The forms of a setting differ in their first one. */
function variantOf({properties = {}}: Schema): string {
  const [name, setting] = Object.entries(properties)[0] ?? ["", {}];
  return `, ${"`"}${name}${"`"} ${kindOf(setting)}`;
}

function kindOf(setting: Schema): string {
  const {enum: words, const: only, prefixItems, items, additionalProperties: named} = setting;
  const forms = setting.anyOf ?? setting.oneOf;
  if (words) return words.map((value) => `\`${value}\``).join(", ");
  if (only !== undefined) return `\`${only}\``;
  if (forms) return [...new Set(forms.map(kindOf))].join(" or ");
  if (prefixItems) return `[${prefixItems.map(kindOf).join(", ")}]`;
  if (items) return `list of ${kindOf(items)}`;
  if (setting.properties) return "settings, below";
  if (typeof named === "object") return `by name: ${kindOf(named)}`;
  return (
    {string: "text", integer: "whole number", number: "number", boolean: "true or false"}[setting.type ?? ""] ?? ""
  );
}

function defaultOf(setting: Schema): string {
  if (setting.default === undefined || (typeof setting.default === "object" && !Array.isArray(setting.default)))
    return "";
  return `\`${JSON.stringify(setting.default).replaceAll('"', "").replaceAll(",", ", ")}\``;
}

function exampleOf(path: string): string {
  const name = path.replace(/\[\]$/, "");
  const example = JOB_EXAMPLES[name];
  return example === undefined ? "" : `\nAs in\n\n\`\`\`json\n"${name}": ${compact(example)}\n\`\`\`\n`;
}

const WIDTH = 100;

/** JSON a person would write: what fits on a line stands on one. */
function compact(value: unknown, indent = ""): string {
  const line = JSON.stringify(value, null, 1)
    .replace(/\n\s*/g, " ")
    .replace(/([[{]) | ([\]}])/g, "$1$2");
  if (indent.length + line.length <= WIDTH || typeof value !== "object" || value === null) return line;
  const deeper = `${indent}  `;
  const [open, close] = Array.isArray(value) ? ["[", "]"] : ["{", "}"];
  const parts = Array.isArray(value)
    ? value.map((entry) => `${deeper}${compact(entry, deeper)}`)
    : Object.entries(value).map(([name, entry]) => `${deeper}"${name}": ${compact(entry, deeper)}`);
  return `${open}\n${parts.join(",\n")}\n${indent}${close}`;
}
