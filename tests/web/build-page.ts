import {execFileSync} from "node:child_process";
import {mkdtempSync, rmSync} from "node:fs";
import {tmpdir} from "node:os";
import {join} from "node:path";
import type {TestProject} from "vitest/node";

declare module "vitest" {
  interface ProvidedContext {
    /** Folder the page was built to, for this run of the tests alone. */
    readonly web: string;
  }
}

/** Builds the page once for all browser tests of a run, into a folder that is gone afterwards. */
export default function buildPage({provide}: TestProject): () => void {
  const {folder, clearUp} = buildFolder();
  provide("web", folder);
  return clearUp;
}

/** Builds the page into a folder of its own, which is there until it is cleared up. */
export function buildFolder(): {folder: string; clearUp: () => void} {
  const root = new URL("../../", import.meta.url).pathname;
  const folder = mkdtempSync(join(tmpdir(), "loamwright-web-"));
  const clearUp = (): void => rmSync(folder, {recursive: true, force: true});
  const built = ["--config", "web/vite.config.ts", "--outDir", folder, "--emptyOutDir", "--logLevel", "error"];
  try {
    execFileSync(process.execPath, ["node_modules/vite/bin/vite.js", "build", ...built], {
      cwd: root,
      env: {...process.env, NODE_ENV: "production"},
      stdio: "inherit",
    });
  } catch (error) {
    clearUp();
    throw error;
  }
  return {folder, clearUp};
}
