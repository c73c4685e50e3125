import {describe, expect, it} from "vitest";
import {unzip, zip} from "../../src/formats/zip.ts";
import {buildZip, bytes} from "./build-files.ts";

const codeOf = (work: () => unknown): unknown => {
  try {
    work();
  } catch (error) {
    expect((error as Error).name).toBe("FieldError");
    return (error as {code: string}).code;
  }
  return undefined;
};
const open = (...entries: Parameters<typeof buildZip>[0]) => unzip(buildZip(entries), "a.zip");

describe("a zip", () => {
  it("opens, stored or deflated, folders and clutter left out", () => {
    const text = bytes("lon,lat\n".repeat(1000));
    const found = open(
      {name: "a.csv", data: text},
      {name: "sub/b.csv", data: text, deflate: true},
      {name: "sub/", data: new Uint8Array()},
      {name: "empty.txt", data: new Uint8Array()},
      {name: "__MACOSX/a.csv", data: text},
      {name: "Thumbs.db", data: text},
    );
    expect([...found.keys()]).toEqual(["a.csv", "sub/b.csv", "empty.txt"]);
    expect(found.get("sub/b.csv")).toEqual(text);
  });

  it("opens large members that are fed in pieces", () => {
    const data = Uint8Array.from({length: 3_000_000}, (_, i) => (i * i) >>> 7);
    expect(Buffer.compare(open({name: "a.bin", data, deflate: true}).get("a.bin") as Uint8Array, data)).toBe(0);
  });

  it("opens what we write, which is the same bytes in every time zone", () => {
    const files = new Map([
      ["a.txt", bytes("alpha")],
      ["ü.txt", bytes("beta".repeat(100))],
    ]);
    const written = zip(files);
    expect(unzip(written, "a.zip")).toEqual(files);
    // Local header: time 12:00, date 1 January 1980 (APPNOTE 4.4.6): 0x6000, 0x0021.
    expect([...written.subarray(10, 14)]).toEqual([0x00, 0x60, 0x21, 0x00]);
    const zone = process.env.TZ;
    for (const tz of ["Pacific/Auckland", "America/Chicago", "UTC"]) {
      process.env.TZ = tz;
      expect(zip(files)).toEqual(written);
    }
    if (zone === undefined) delete process.env.TZ;
    else process.env.TZ = zone;
  });

  it("is refused when a path leads out of it", () => {
    for (const name of ["../../evil.txt", "/abs.txt", "a\\..\\b.txt", "C:x", "a/../../b", "a\u0001b", "\\\\host\\x"]) {
      expect([name, codeOf(() => open({name, data: bytes("x")}))]).toEqual([name, "zip/unsafe-path"]);
    }
    expect(open({name: "a\\b.txt", data: bytes("x")}).has("a/b.txt")).toBe(true);
  });

  it("is refused when it holds a link, a secret, or one name twice", () => {
    const data = bytes("x");
    expect(codeOf(() => open({name: "a", data, claims: {mode: 0o120777}}))).toBe("zip/unsafe-path");
    expect(codeOf(() => open({name: "a", data, claims: {flags: 1}}))).toBe("zip/encrypted");
    expect(codeOf(() => open({name: "a.txt", data}, {name: "A.TXT", data}))).toBe("zip/duplicate");
    expect(codeOf(() => open({name: "a", data, claims: {method: 12}}))).toBe("zip/method");
  });

  it("is refused when it would unpack without end, whatever it claims", () => {
    const zeros = new Uint8Array(50 * 2 ** 20); // packs about 1000 to 1
    expect(codeOf(() => open({name: "bomb", data: zeros, deflate: true}))).toBe("zip/too-large");
    const started = performance.now();
    expect(codeOf(() => open({name: "bomb", data: zeros, deflate: true, claims: {size: 1000}}))).toBe("zip/damaged");
    expect(performance.now() - started).toBeLessThan(10_000);
    expect(codeOf(() => open(...Array.from({length: 1001}, (_, i) => ({name: `${i}`, data: bytes("x")}))))).toBe(
      "zip/too-many",
    );
  });

  it("is refused when a member is damaged, even by one bit", () => {
    const good = buildZip([{name: "a.csv", data: bytes("lon,lat\n-86.4,40.55\n"), deflate: true}]);
    for (let at = 35; at < 35 + 20; at++) {
      const bad = good.slice();
      bad[at] = (bad[at] as number) ^ 4;
      expect(codeOf(() => unzip(bad, "a.zip"))).toBe("zip/damaged");
    }
    for (let length = 0; length < good.length; length += 3) {
      expect(codeOf(() => unzip(good.subarray(0, length), "a.zip"))).toBe("zip/damaged");
    }
  });
});
