import {readdirSync, readFileSync, statSync} from "node:fs";
import {join} from "node:path";
import {FieldError} from "../errors.ts";

const MOST_LEVELS = 6;
const MOST_BYTES = 2 ** 22;

/**
 * Job files: a path that is a file is taken as one, a folder is looked through for JSON files that name a field and its
 * boundary. Hidden folders are passed over. In order of their paths.
 *
 * @throws {FieldError} `job/not-found` for a path that is not there, `book/no-jobs` for a folder without any.
 */
export function findJobs(path: string): string[] {
  let isFolder: boolean;
  try {
    isFolder = statSync(path).isDirectory();
  } catch (error) {
    throw new FieldError("job/not-found", `${path} cannot be read: ${(error as {code?: string}).code}.`, {
      hint: "Name a job file, or a folder with jobs in it.",
    });
  }
  if (!isFolder) return [path];
  const found = within(path, 0);
  if (found.length === 0) {
    throw new FieldError("book/no-jobs", `There is no job in ${path}.`, {
      hint: "Name a folder with job files in it: JSON that names a field and its boundary.",
    });
  }
  return found;
}

function within(folder: string, level: number): string[] {
  return readdirSync(folder, {withFileTypes: true})
    .sort((a, b) => (a.name < b.name ? -1 : 1))
    .flatMap((entry) => {
      const path = join(folder, entry.name);
      if (entry.isDirectory()) {
        return entry.name.startsWith(".") || level === MOST_LEVELS ? [] : within(path, level + 1);
      }
      return entry.isFile() && /\.json$/i.test(entry.name) && isJob(path) ? [path] : [];
    });
}

function isJob(path: string): boolean {
  try {
    if (statSync(path).size > MOST_BYTES) return false;
    const {field} = JSON.parse(readFileSync(path, "utf8")) as {field?: {name?: unknown; boundary?: unknown}};
    return typeof field?.name === "string" && field.boundary !== undefined;
  } catch {
    return false;
  }
}
