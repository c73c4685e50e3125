import {existsSync, readFileSync, writeFileSync} from "node:fs";
import {describe, expect, it} from "vitest";
import {jobReference, jobSchemaFile} from "../../src/pipeline/job-docs.ts";

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
});
