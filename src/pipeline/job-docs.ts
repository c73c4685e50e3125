import {jobJsonSchema} from "./job.ts";

type Schema = {
  type?: string;
  description?: string;
  default?: unknown;
  enum?: unknown[];
  const?: unknown;
  properties?: Record<string, Schema>;
  required?: string[];
  items?: Schema;
  anyOf?: Schema[];
};

/** The JSON Schema (2020-12) of a job file, for editors: `"$schema": "…/docs/job.schema.json"`. */
export function jobSchemaFile(): string {
  return `${JSON.stringify(jobJsonSchema(), null, 2)}\n`;
}

/** Every setting of a job as Markdown tables, one per section, made from the schema so that it cannot go stale. */
export function jobReference(): string {
  const sections: string[] = [];
  describe("", jobJsonSchema() as Schema, sections);
  return sections.join("\n");
}

function describe(path: string, object: Schema, sections: string[]): void {
  const rows: string[] = [];
  const deeper: [string, Schema][] = [];
  for (const [name, setting] of Object.entries(object.properties ?? {})) {
    if (name === "$schema") continue;
    const here = path ? `${path}.${name}` : name;
    const needed = object.required?.includes(name) ? "needed" : defaultOf(setting);
    rows.push(`| \`${name}\` | ${kindOf(setting)} | ${needed} | ${setting.description ?? ""} |`);
    const inner = objectsIn(setting);
    for (const found of inner) deeper.push([setting.items || setting.type === "array" ? `${here}[]` : here, found]);
  }
  const title = path === "" ? "## The job" : `## \`${path}\``;
  sections.push(
    `${title}\n\n| setting | what it takes | default | what it says |\n|---|---|---|---|\n${rows.join("\n")}\n`,
  );
  for (const [where, found] of deeper) describe(where, found, sections);
}

function objectsIn(setting: Schema): Schema[] {
  if (setting.properties) return [setting];
  if (setting.items) return objectsIn(setting.items);
  return (setting.anyOf ?? []).flatMap(objectsIn);
}

function kindOf(setting: Schema): string {
  if (setting.enum) return setting.enum.map((value) => `\`${value}\``).join(", ");
  if (setting.const !== undefined) return `\`${setting.const}\``;
  if (setting.anyOf) return [...new Set(setting.anyOf.map(kindOf))].join(" or ");
  if (setting.items) return `list of ${kindOf(setting.items)}`;
  if (setting.properties) return "settings, below";
  return (
    {string: "text", integer: "whole number", number: "number", boolean: "true or false"}[setting.type ?? ""] ?? ""
  );
}

function defaultOf(setting: Schema): string {
  if (setting.default === undefined || (typeof setting.default === "object" && !Array.isArray(setting.default)))
    return "";
  return `\`${JSON.stringify(setting.default).replaceAll('"', "").replaceAll(",", ", ")}\``;
}
