import {mkdirSync, readdirSync, readFileSync, symlinkSync, writeFileSync} from "node:fs";
import {join} from "node:path";
import {beforeEach, describe, expect, test} from "vitest";
import {writeFolder} from "../../src/cli/write-folder.ts";
import {isFieldError} from "../../src/errors.ts";
import {encodeUtf8} from "../../src/formats/text.ts";
import {contents, scratch, sha256} from "./in-process.ts";

let parent: string;
let folder: string;

beforeEach(() => {
  parent = scratch();
  folder = join(parent, "out");
});

const files = (texts: Record<string, string>): Map<string, Uint8Array> =>
  new Map(Object.entries(texts).map(([name, text]) => [name, encodeUtf8(text)]));

function codeOf(work: () => void): string | undefined {
  try {
    work();
  } catch (error) {
    if (isFieldError(error)) return error.code;
    throw error;
  }
  return undefined;
}

const read = (name: string): string => readFileSync(join(folder, name), "utf8");

describe("all files are written or none", () => {
  test("a new folder is made with its parents and holds the files only", () => {
    folder = join(parent, "a", "b", "out");
    writeFolder(folder, files({"one.txt": "1", "two.txt": "2"}), []);
    expect(Object.keys(contents(folder))).toEqual(["one.txt", "two.txt"]);
    expect(readdirSync(join(parent, "a", "b"))).toEqual(["out"]);
  });

  test("a slash in a name makes a folder, and a stale file in one goes with the next run", () => {
    const record = (names: Record<string, string>) =>
      JSON.stringify({
        outputs: Object.fromEntries(Object.entries(names).map(([n, t]) => [n, {sha256: sha256(encodeUtf8(t))}])),
      });
    writeFolder(
      folder,
      files({"a/b/one.txt": "1", "a/two.txt": "2", "run.json": record({"a/b/one.txt": "1", "a/two.txt": "2"})}),
      [],
    );
    expect(read("a/b/one.txt")).toBe("1");
    writeFolder(folder, files({"a/two.txt": "3", "run.json": record({"a/two.txt": "3"})}), []);
    expect(read("a/two.txt")).toBe("3");
    expect(readdirSync(join(folder, "a", "b"))).toEqual([]);
  });

  test("a file where a folder should go stops the run before anything is written", () => {
    mkdirSync(folder);
    writeFileSync(join(folder, "a"), "mine");
    expect(codeOf(() => writeFolder(folder, files({"one.txt": "1", "a/two.txt": "2"}), []))).toBe("out/cannot-write");
    expect(readdirSync(folder)).toEqual(["a"]);
  });

  test("a record that names files outside the folder removes nothing there", () => {
    mkdirSync(folder);
    writeFileSync(join(parent, "mine.txt"), "mine");
    const outputs = {"../mine.txt": {sha256: sha256(encodeUtf8("mine"))}};
    writeFileSync(join(folder, "run.json"), JSON.stringify({outputs}));
    writeFolder(folder, files({"run.json": "{}"}), []);
    expect(readFileSync(join(parent, "mine.txt"), "utf8")).toBe("mine");
  });

  test("files of the same names are written over, others stay", () => {
    mkdirSync(folder);
    writeFileSync(join(folder, "one.txt"), "old");
    writeFileSync(join(folder, "other.txt"), "other");
    writeFolder(folder, files({"one.txt": "new"}), []);
    expect([read("one.txt"), read("other.txt")]).toEqual(["new", "other"]);
    expect(readdirSync(parent)).toEqual(["out"]);
  });

  test.each([0, 1, 2])("a folder where file %i should go stops all, and it and the old files stay", (n) => {
    const names = ["a.txt", "b.txt", "c.txt"];
    mkdirSync(folder);
    for (const [i, name] of names.entries()) if (i !== n) writeFileSync(join(folder, name), "old");
    mkdirSync(join(folder, names[n] as string));
    writeFileSync(join(folder, names[n] as string, "kept.txt"), "kept");
    const before = contents(folder);
    const wanted = files(Object.fromEntries(names.map((name) => [name, "new"])));
    expect(codeOf(() => writeFolder(folder, wanted, []))).toBe("out/cannot-write");
    expect(contents(folder)).toEqual(before);
    expect(readFileSync(join(folder, names[n] as string, "kept.txt"), "utf8")).toBe("kept");
    expect(readdirSync(parent)).toEqual(["out"]);
  });

  test("a file that cannot even be written aside leaves no folder behind", () => {
    const wanted = files({"a.txt": "new", ["b".repeat(300)]: "new"});
    expect(codeOf(() => writeFolder(folder, wanted, []))).toBe("out/cannot-write");
    expect(readdirSync(parent)).toEqual([]);
  });

  test("a move that fails half-way puts the old files back", () => {
    mkdirSync(folder);
    writeFileSync(join(folder, "a.txt"), "old a");
    writeFileSync(join(folder, "b.txt"), "old b");
    const before = contents(folder);
    // Two spellings of one name: the second move finds nothing left to move, after a.txt and b.txt were placed.
    const wanted = files({"a.txt": "new a", "b.txt": "new b", "c.txt": "new c", "./b.txt": "new b again"});
    expect(codeOf(() => writeFolder(folder, wanted, []))).toBe("out/cannot-write");
    expect(contents(folder)).toEqual(before);
    expect(readdirSync(parent)).toEqual(["out"]);
  });
});

describe("what is not ours is not touched", () => {
  const recordOf = (outputs: Record<string, string>): string =>
    JSON.stringify({
      outputs: Object.fromEntries(
        Object.entries(outputs).map(([name, text]) => [name, {sha256: sha256(encodeUtf8(text))}]),
      ),
    });

  test("a stale output goes when it is as recorded and stays when it was changed", () => {
    writeFolder(
      folder,
      files({"old.txt": "x", "edited.txt": "y", "run.json": recordOf({"old.txt": "x", "edited.txt": "y"})}),
      [],
    );
    writeFileSync(join(folder, "edited.txt"), "y, and my own notes");
    writeFolder(folder, files({"new.txt": "z", "run.json": "{}"}), []);
    expect(Object.keys(contents(folder))).toEqual(["edited.txt", "new.txt", "run.json"]);
  });

  test("a record that names files outside the folder removes nothing", () => {
    writeFileSync(join(parent, "precious.txt"), "x");
    writeFolder(folder, files({"run.json": recordOf({"../precious.txt": "x"})}), []);
    writeFolder(folder, files({"run.json": "{}"}), []);
    expect(readdirSync(parent)).toEqual(["out", "precious.txt"]);
  });

  test.each(["not JSON", "[]", "null", '{"outputs": 5}', '{"outputs": {"mine.txt": null}}'])(
    "a run.json that is not a record (%s) is written over, and nothing else",
    (text) => {
      mkdirSync(folder);
      writeFileSync(join(folder, "run.json"), text);
      writeFileSync(join(folder, "mine.txt"), "mine");
      writeFolder(folder, files({"run.json": "{}"}), []);
      expect([read("run.json"), read("mine.txt")]).toEqual(["{}", "mine"]);
    },
  );

  test("a stale output that is an input of this run stays", () => {
    writeFolder(folder, files({"zones.txt": "x", "run.json": recordOf({"zones.txt": "x"})}), []);
    writeFolder(folder, files({"run.json": "{}"}), [join(folder, "zones.txt")]);
    expect(read("zones.txt")).toBe("x");
  });
});

describe("inputs are not written over", () => {
  test("by their own name", () => {
    mkdirSync(folder);
    writeFileSync(join(folder, "a.txt"), "input");
    expect(codeOf(() => writeFolder(folder, files({"a.txt": "new"}), [join(folder, "a.txt")]))).toBe("out/is-an-input");
    expect(read("a.txt")).toBe("input");
  });

  test("nor through a link to their folder", () => {
    mkdirSync(folder);
    writeFileSync(join(folder, "a.txt"), "input");
    const link = join(parent, "link");
    symlinkSync(folder, link);
    expect(codeOf(() => writeFolder(link, files({"a.txt": "new"}), [join(folder, "a.txt")]))).toBe("out/is-an-input");
    expect(read("a.txt")).toBe("input");
  });

  test("a file in place of the folder is refused", () => {
    writeFileSync(folder, "a file");
    expect(codeOf(() => writeFolder(folder, files({"a.txt": "new"}), []))).toBe("out/not-a-folder");
    expect(readFileSync(folder, "utf8")).toBe("a file");
  });
});
