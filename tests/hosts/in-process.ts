import {createHash} from "node:crypto";
import {existsSync, mkdtempSync, readdirSync, readFileSync, rmSync} from "node:fs";
import {tmpdir} from "node:os";
import {join} from "node:path";
import {afterAll} from "vitest";
import {runCli} from "../../src/cli/run-cli.ts";

export interface Outcome {
  readonly code: number;
  readonly stdout: string;
  readonly stderr: string;
}

/** One command line in this process, with what it said. */
export async function cli(...args: string[]): Promise<Outcome> {
  const said = {stdout: "", stderr: ""};
  const kept = {stdout: process.stdout.write, stderr: process.stderr.write};
  const catching = (stream: "stdout" | "stderr") =>
    ((chunk: string | Uint8Array) => {
      said[stream] += typeof chunk === "string" ? chunk : new TextDecoder().decode(chunk);
      return true;
    }) as typeof process.stdout.write;
  process.stdout.write = catching("stdout");
  process.stderr.write = catching("stderr");
  process.exitCode = undefined;
  try {
    return {code: await runCli(args), ...said};
  } finally {
    process.stdout.write = kept.stdout;
    process.stderr.write = kept.stderr;
    process.exitCode = undefined;
  }
}

const made: string[] = [];
afterAll(() => {
  for (const folder of made) rmSync(folder, {recursive: true, force: true});
});

/** A new folder, gone after the tests of the file. */
export function scratch(): string {
  const folder = mkdtempSync(join(tmpdir(), "loamwright-test-"));
  made.push(folder);
  return folder;
}

export const sha256 = (bytes: Uint8Array): string => createHash("sha256").update(bytes).digest("hex");

/** Names and digests of a folder's files; folders within it are named with a slash. */
export function contents(folder: string): Record<string, string> {
  if (!existsSync(folder)) return {};
  return Object.fromEntries(
    readdirSync(folder, {withFileTypes: true})
      .sort((a, b) => (a.name < b.name ? -1 : 1))
      .map((entry) =>
        entry.isDirectory() ? [`${entry.name}/`, ""] : [entry.name, sha256(readFileSync(join(folder, entry.name)))],
      ),
  );
}
