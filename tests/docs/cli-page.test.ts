import {readFileSync, writeFileSync} from "node:fs";
import {expect, it} from "vitest";
import {makeProgram} from "../../src/cli/run-cli.ts";

// Written from the commands themselves. `REGEN=1 npm run unit tests/docs` writes it again.
it("docs/cli.md shows every command's own help", () => {
  const page = new URL("../../docs/cli.md", import.meta.url);
  const program = makeProgram();
  const help = [program, ...program.commands].map((command) => {
    command.configureHelp({helpWidth: 100});
    return `## ${command === program ? "loamwright" : `loamwright ${command.name()}`}\n\n\`\`\`text\n${command.helpInformation().trimEnd()}\n\`\`\`\n`;
  });
  const text = `# Commands

Results go to standard output, words to standard error. Exit codes: 0 done, 2 the command line is wrong, 3 the input is
wrong and the message says what to do, 1 a fault of ours, 130 cancelled.

${help.join("\n")}`;
  if (process.env.REGEN) writeFileSync(page, text);
  expect(readFileSync(page, "utf8")).toBe(text);
});
