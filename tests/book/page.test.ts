import {existsSync, readFileSync, writeFileSync} from "node:fs";
import {expect, it} from "vitest";
import {MIGRATIONS, TABLES} from "../../src/book/migrations.ts";
import type {BookTable} from "../../src/book/table.ts";

// The tables of docs/formats/book.md are made from the code. `REGEN=1 npm run unit tests/book/page.test.ts` writes them.
it("docs/formats/book.md ends with every table and column of a book", () => {
  const page = new URL("../../docs/formats/book.md", import.meta.url);
  const marker = "<!-- from here on made from the code -->\n";
  const [intro = ""] = (existsSync(page) ? readFileSync(page, "utf8") : "").split(marker);
  const text = `${intro}${marker}\n${TABLES.map(section).join("\n")}`;
  if (process.env.REGEN) writeFileSync(page, text);
  expect(existsSync(page) ? readFileSync(page, "utf8") : "").toBe(text);
});

function section({name, about, geometry, columns, unique}: BookTable): string {
  const since = MIGRATIONS.find(({tables}) => tables.some((table) => table.name === name))?.version ?? 0;
  const facts = [
    `${about}.`,
    ...(geometry ? [`Shapes: ${geometry}, longitude and latitude on WGS 84, in the column \`geom\`.`] : []),
    ...(unique ? [`Unlike in every row: ${unique.map((column) => `\`${column}\``).join(", ")}.`] : []),
    ...(since > 1 ? [`Since version ${since}.`] : []),
  ];
  const rows = columns.map(
    ({name: column, type, about: holds, required, refers}) =>
      `| \`${column}\` | ${type} | ${holds.replaceAll("|", "\\|")}${refers ? ` (\`${refers}\`)` : ""}${required ? "" : "; may be empty"} |`,
  );
  return [`### ${name}`, "", facts.join(" "), "", "| column | type | holds |", "| --- | --- | --- |", ...rows, ""].join(
    "\n",
  );
}
