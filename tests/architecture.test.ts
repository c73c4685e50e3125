import {readdirSync, readFileSync} from "node:fs";
import {join, relative} from "node:path";
import {describe, expect, it} from "vitest";

const SRC = new URL("../src", import.meta.url).pathname;
const WEB = new URL("../web", import.meta.url).pathname;

const STAGES = ["layers", "zones", "sampling", "lab", "recommend", "prescription", "compare"];
const BASE = ["errors", "provenance", "table", "units"];

/** Which rooms a room may import values from. Itself is always allowed. */
const MAY_IMPORT: Record<string, readonly string[]> = {
  errors: [],
  provenance: [],
  table: [],
  units: ["errors"],
  stats: ["errors"],
  geo: [...BASE, "stats"],
  grid: [...BASE, "stats", "geo"],
  ...Object.fromEntries(STAGES.map((stage) => [stage, [...BASE, "stats", "geo", "grid"]])),
  report: [...BASE, "stats", "geo", "grid"],
  formats: [...BASE, "stats", "geo", "grid"],
  pipeline: [...BASE, "stats", "geo", "grid", ...STAGES, "report", "formats"],
  book: [...BASE, "stats", "geo", "grid", ...STAGES, "report", "formats"],
  server: [...BASE, "geo", "grid", ...STAGES, "report", "formats", "pipeline", "book"],
  cli: [...BASE, "geo", "grid", ...STAGES, "report", "formats", "pipeline", "book", "server"],
  index: [...BASE, "stats", "geo", "grid", ...STAGES, "report", "formats", "pipeline", "book"],
};

/** Types may also come from these: a stage knows the results of the stages before it. */
const MAY_IMPORT_TYPES: Record<string, readonly string[]> = {
  ...Object.fromEntries(STAGES.map((stage, i) => [stage, STAGES.slice(0, i)])),
  report: STAGES,
  formats: STAGES,
};

/** Rooms that know a host. Everything else stays free of Node, files, clocks and screens. */
const HOSTS = ["cli", "server"];

interface Import {
  readonly file: string;
  readonly from: string;
  readonly typeOnly: boolean;
}

describe("the import table", () => {
  const files = sources(SRC);
  const imports = files.flatMap(importsOf);

  it("is kept by every file", () => {
    const broken = imports.filter((found) => !allowed(found)).map(({file, from}) => `${file} → ${from}`);
    expect(broken).toEqual([]);
  });

  it("names every room", () => {
    expect([...new Set(files.map(roomOf))].filter((room) => !(room in MAY_IMPORT))).toEqual([]);
  });

  it("lets one file wrap each package", () => {
    const wrappers = new Map<string, Set<string>>();
    for (const {file, from, typeOnly} of imports) {
      if (typeOnly || from.startsWith(".") || from.startsWith("node:")) continue;
      const name = from
        .split("/")
        .slice(0, from.startsWith("@") ? 2 : 1)
        .join("/");
      wrappers.set(name, (wrappers.get(name) ?? new Set()).add(file));
    }
    const shared = [...wrappers].filter(([, users]) => users.size > 1).map(([name, users]) => [name, ...users]);
    expect(shared).toEqual([]);
  });

  it("keeps Node, clocks and chance out of the core", () => {
    const forbidden = /\bfrom "node:|\bprocess\.|\bBuffer\b|\bconsole\.|\bDate\.now\b|\bnew Date\(\)|\bMath\.random\b/;
    const broken = files
      .filter((file) => !HOSTS.includes(roomOf(file)))
      .filter((file) => forbidden.test(withoutComments(readFileSync(join(SRC, file), "utf8"))));
    expect(broken).toEqual([]);
  });

  it("catches a planted violation", () => {
    expect(allowed({file: "zones/x.ts", from: "../formats/csv.ts", typeOnly: false})).toBe(false);
    expect(allowed({file: "zones/x.ts", from: "../sampling/plan.ts", typeOnly: true})).toBe(false);
    expect(allowed({file: "sampling/x.ts", from: "../zones/zone-map.ts", typeOnly: true})).toBe(true);
    expect(allowed({file: "sampling/x.ts", from: "../zones/build.ts", typeOnly: false})).toBe(false);
    expect(allowed({file: "stats/x.ts", from: "../geo/frame.ts", typeOnly: false})).toBe(false);
  });
});

describe("the shape of the code", () => {
  const lines = sources(SRC)
    .filter((file) => !/guides\/|\.d\.ts$/.test(file)) // tables of data may be long
    .map((file) => ({file, count: readFileSync(join(SRC, file), "utf8").split("\n").length}))
    .sort((a, b) => a.count - b.count);

  it("keeps files small: half under 120 lines, nine in ten under 300, none over 500", () => {
    expect(lines[Math.floor(lines.length / 2)]?.count).toBeLessThanOrEqual(120);
    expect(lines[Math.floor(lines.length * 0.9)]?.count).toBeLessThanOrEqual(300);
    expect(lines.filter(({count}) => count > 500)).toEqual([]);
  });

  it("has no drawer for odds and ends", () => {
    const drawers = [...sources(SRC), ...sources(WEB)].filter((file) =>
      /(^|\/)(utils?|helpers?|common|misc)\b/.test(file),
    );
    expect(drawers).toEqual([]);
  });
});

function sources(root: string): string[] {
  try {
    return readdirSync(root, {recursive: true, withFileTypes: true})
      .filter((entry) => entry.isFile() && /\.tsx?$/.test(entry.name))
      .map((entry) => relative(root, join(entry.parentPath, entry.name)))
      .filter((file) => !file.includes("node_modules"));
  } catch {
    return [];
  }
}

/** First folder, or the file's own name at the root of src. */
function roomOf(file: string): string {
  return file.includes("/") ? (file.split("/")[0] as string) : file.replace(/\.tsx?$/, "");
}

function importsOf(file: string): Import[] {
  const text = readFileSync(join(SRC, file), "utf8");
  const found: Import[] = [];
  for (const match of text.matchAll(/^(?:import|export)\s+(type\s+)?([^"=]*?)(?:from\s+)?"([^"]+)";?$/gm)) {
    const names =
      /\{([^}]*)\}/
        .exec(match[2] ?? "")?.[1]
        ?.split(",")
        .filter((n) => n.trim() !== "") ?? [];
    const allTypes = names.length > 0 && names.every((name) => /^\s*type\s/.test(name));
    found.push({file, from: match[3] as string, typeOnly: Boolean(match[1]) || allTypes});
  }
  for (const match of text.matchAll(/\bimport\("([^"]+)"\)/g)) {
    found.push({file, from: match[1] as string, typeOnly: false});
  }
  return found;
}

function allowed({file, from, typeOnly}: Import): boolean {
  if (!from.startsWith(".")) return !from.startsWith("node:") || HOSTS.includes(roomOf(file));
  const parts = [...file.split("/").slice(0, -1), ...from.split("/")];
  const path: string[] = [];
  for (const part of parts) {
    if (part === "..") path.pop();
    else if (part !== ".") path.push(part);
  }
  const room = roomOf(file);
  const target = roomOf(path.join("/"));
  if (room === target) return true;
  return MAY_IMPORT[room]?.includes(target) || (typeOnly && Boolean(MAY_IMPORT_TYPES[room]?.includes(target)));
}

function withoutComments(text: string): string {
  return text.replace(/\/\*[\s\S]*?\*\//g, "").replace(/(^|\s)\/\/.*$/gm, "");
}
