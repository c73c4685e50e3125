import {existsSync, readFileSync, writeFileSync} from "node:fs";
import {describe, expect, it} from "vitest";
import {jobJsonSchema} from "../../src/pipeline/job.ts";
import {jobReference, jobSchemaFile} from "../../src/pipeline/job-docs.ts";
import {JOB_EXAMPLES} from "../../src/pipeline/job-examples.ts";
import {readJob} from "../../src/pipeline/read-job.ts";

// Pages made from the code. `REGEN=1 npm run unit tests/docs` writes them again.
const DOCS = new URL("../../docs/", import.meta.url);

function expectPage(name: string, text: string): void {
  const page = new URL(name, DOCS);
  if (process.env.REGEN) writeFileSync(page, text);
  expect(existsSync(page) ? readFileSync(page, "utf8") : "").toBe(text);
}

describe("pages made from the code", () => {
  it("job.schema.json is the schema that jobs are read by", () => expectPage("job.schema.json", jobSchemaFile()));

  it("job.md ends with every setting of a job", () => {
    const page = new URL("job.md", DOCS);
    const marker = "<!-- from here on made from the code -->\n";
    const [intro = ""] = readFileSync(page, "utf8").split(marker);
    expectPage("job.md", `${intro}${marker}\n${jobReference()}`);
  });

  it("job.md says of every setting what it takes and what it means", () => {
    const rows = jobReference()
      .split("\n")
      .filter((line) => line.startsWith("| `"))
      .map((line) => line.slice(2, -2).split(" | "));
    expect(rows.length).toBeGreaterThan(150);
    const blank = rows.filter(
      ([, kind = "", , words = ""]) => kind.trim() === "" || /(of|or|:|\[,?) *$/.test(kind) || words.trim() === "",
    );
    expect(blank.map(([name]) => name)).toEqual([]);
  });

  it("job.md has an example of every section, which a job accepts, alone and all together", () => {
    const {properties} = jobJsonSchema() as {properties: Record<string, {type?: string}>};
    const sections = Object.keys(properties).filter((name) =>
      ["object", "array"].includes(properties[name]?.type ?? ""),
    );
    expect(Object.keys(JOB_EXAMPLES)).toEqual(sections.filter((name) => name !== "strategies"));
    const written = [...jobReference().matchAll(/```json\n([\s\S]*?)```/g)].map(([, text]) => `{${text}}`);
    expect(written.map((text) => JSON.parse(text))).toEqual(
      Object.entries(JOB_EXAMPLES).map(([name, example]) => ({[name]: example})),
    );
    const {field} = JOB_EXAMPLES;
    for (const [name, example] of Object.entries(JOB_EXAMPLES)) {
      expect(() => readJob(JSON.stringify({field, [name]: example}), `${name}.json`)).not.toThrow();
    }
    expect(() => readJob(JSON.stringify(JOB_EXAMPLES), "job.json")).not.toThrow();
  });
});
