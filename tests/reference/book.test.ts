import {execFileSync} from "node:child_process";
import {copyFileSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync} from "node:fs";
import {tmpdir} from "node:os";
import {join} from "node:path";
import {fileURLToPath} from "node:url";
import {afterAll, beforeAll, describe, expect, it} from "vitest";
import {addApplied} from "../../src/book/as-applied.ts";
import {createBook} from "../../src/book/book.ts";
import {findField, listFields} from "../../src/book/fields.ts";
import type {BookHost} from "../../src/book/host.ts";
import {TABLES} from "../../src/book/migrations.ts";
import {addNote} from "../../src/book/notes.ts";
import {rollBack} from "../../src/book/roll-back.ts";
import {verifyBook} from "../../src/book/verify.ts";
import {nodeBookHost} from "../../src/cli/book-host.ts";
import {keepRun} from "../../src/cli/keep-run.ts";
import {nodeHost} from "../../src/cli/node-host.ts";
import {openJob} from "../../src/cli/open-job.ts";
import {type RunResult, runJob} from "../../src/pipeline/run.ts";
import {CHANGES, leaveHalfWritten, memoryFile} from "../book/half-written.ts";
import {killAgainAndAgain} from "../book/kill-loop.ts";
import {within} from "../book/small-run.ts";
import {gdalVersion, ogrinfo, systemPython} from "./gdal.ts";

// GDAL opens the book, its validator checks it against the standard, and SQLite itself, in Debian's Python, says how a
// change that was half written is undone.

const folder = mkdtempSync(join(tmpdir(), "loamwright-book-"));
afterAll(() => rmSync(folder, {recursive: true, force: true}));

const path = join(folder, "farm.gpkg");
let host: BookHost;
let run: RunResult;
beforeAll(async () => {
  console.log(
    `compared with ${gdalVersion()} and SQLite ${python("import sqlite3; print(sqlite3.sqlite_version)").trim()}`,
  );
  host = await nodeBookHost();
  createBook(host, path);
  const jobPath = fileURLToPath(new URL("../../sample-data/kiln-forty/job.json", import.meta.url));
  const opened = openJob(jobPath);
  const running = nodeHost(true);
  run = await runJob(opened.job, opened.files, running);
  running.done();
  within(host, path, (book) => {
    keepRun(book, jobPath, opened, run);
    const field = findField(book, "Kiln Forty");
    addNote(book, field, "outlet of the tile, höher gelegen", [-86.4, 40.55]);
    addNote(book, field, "without a place");
    const points = [{at: [-86.4, 40.55] as const, rateLbPerAcre: 148}];
    addApplied(book, field, {product: "11-52-0", spreadOn: "2026-04-20", points});
  });
});

function python(script: string, ...args: string[]): string {
  return execFileSync(systemPython(), ["-c", script, ...args], {encoding: "utf8", stdio: "pipe"});
}

/** Exit code of the validator that comes with GDAL. */
function validatorCode(file: string): number {
  try {
    execFileSync(systemPython(), ["-m", "osgeo_utils.samples.validate_gpkg", file], {stdio: "pipe"});
    return 0;
  } catch (error) {
    console.log(String((error as {stdout: Buffer}).stdout));
    return (error as {status: number}).status;
  }
}

describe("the book in GDAL's hands", () => {
  it("conforms to GeoPackage, and the validator would have noticed if not", () => {
    expect(validatorCode(path)).toBe(0);
    const bad = join(folder, "bad.gpkg");
    copyFileSync(path, bad);
    within(host, bad, ({db}) => db.exec("UPDATE gpkg_geometry_columns SET srs_id = 0 WHERE table_name = 'zones'"));
    expect(validatorCode(bad)).not.toBe(0);
  });

  it("shows every table of shapes with its kind, count and coordinate system", () => {
    const text = ogrinfo(path);
    expect(text).not.toMatch(/warning|error/i);
    const kinds = {
      POINT: "Point",
      LINESTRING: "Line String",
      POLYGON: "Polygon",
      MULTIPOLYGON: "Multi Polygon",
    };
    const counts = within(host, path, ({db}) =>
      TABLES.map(({name, geometry}) => ({
        name,
        geometry,
        n: Number(db.all(`SELECT count(*) AS n FROM ${name}`)[0]?.n),
      })),
    );
    for (const {name, geometry, n} of counts) {
      const kind = geometry ? kinds[geometry] : "None";
      expect(text).toMatch(new RegExp(`Layer name: ${name}\\s[\\s\\S]*?Geometry: ${kind}\\s+Feature Count: ${n}\\s`));
    }
    expect(text.match(/ID\["EPSG",4326\]/g)).toHaveLength(TABLES.filter(({geometry}) => geometry).length);
    expect(counts.find(({name}) => name === "zones")?.n).toBe(run.zoneMap?.zones.length);
  });

  it("holds valid shapes whose acres GDAL measures alike on the ellipsoid's equal-area projection", () => {
    const measured = python(
      `
import sys
from osgeo import ogr, osr
ogr.UseExceptions()
source = ogr.Open(sys.argv[1])
flat = osr.SpatialReference(); flat.ImportFromProj4("+proj=laea +lat_0=40.55 +lon_0=-86.4 +datum=WGS84 +units=m")
for name in ("fields", "zones", "sampling_units", "rate_polygons"):
    layer = source.GetLayerByName(name)
    degrees = layer.GetSpatialRef(); degrees.SetAxisMappingStrategy(osr.OAMS_TRADITIONAL_GIS_ORDER)
    flat.SetAxisMappingStrategy(osr.OAMS_TRADITIONAL_GIS_ORDER)
    turn = osr.CoordinateTransformation(degrees, flat)
    worst = 0
    for feature in layer:
        shape = feature.GetGeometryRef(); assert shape.IsValid(), name
        shape.Transform(turn)
        worst = max(worst, abs(shape.GetArea() / 4046.8564224 - feature.GetField("acres")))
    print(name, layer.GetFeatureCount(), worst)
`,
      path,
    );
    const lines = measured.trim().split("\n");
    expect(lines).toHaveLength(4);
    // Acres are kept with four decimals; frame and equal-area projection agree to 1e-6 of 38 acres.
    for (const line of lines) expect(Number(line.split(" ")[2]), line).toBeLessThan(2e-4);
  });
});

describe("the book in the hands of SQLite itself", () => {
  it("is sound, and its log protects itself there too", () => {
    const said = python(
      `
import sqlite3, sys
c = sqlite3.connect(sys.argv[1])
print(c.execute("PRAGMA integrity_check").fetchone()[0], c.execute("PRAGMA foreign_key_check").fetchall())
try:
    c.execute("DELETE FROM log")
except sqlite3.IntegrityError as e:
    print(e)
`,
      path,
    );
    expect(said.trim().split("\n")).toEqual(["ok []", "rows of the log are only added"]);
  });

  it.each(Object.entries(CHANGES))(
    "a half-written change is undone there to the same bytes as here: %s",
    (_, change) => {
      const place = mkdtempSync(join(folder, "half-"));
      const dead = join(place, "dead.db");
      leaveHalfWritten(host.engine, join(place, "live.db"), dead, change);
      const ours = memoryFile(new Uint8Array(readFileSync(dead)));
      expect(rollBack(ours, memoryFile(new Uint8Array(readFileSync(`${dead}-journal`)))).kind).toBe("rolled back");
      python("import sqlite3, sys; sqlite3.connect(sys.argv[1]).execute('SELECT count(*) FROM logs').fetchall()", dead);
      expect(readdirSync(place)).not.toContain("dead.db-journal");
      expect(Buffer.compare(ours.bytes(), readFileSync(dead))).toBe(0);
    },
  );

  it("a change half written there is undone here to the same bytes as there", () => {
    const place = mkdtempSync(join(folder, "theirs-"));
    const file = join(place, "theirs.db");
    // A process that ends in the middle of a change, with a cache so small that pages are in the file already.
    const script = `
import os, sqlite3, sys
c = sqlite3.connect(sys.argv[1], isolation_level=None)
c.execute("PRAGMA page_size = 1024"); c.execute("CREATE TABLE logs (n INTEGER PRIMARY KEY, trace BLOB)")
c.execute("WITH RECURSIVE k(n) AS (SELECT 1 UNION ALL SELECT n + 1 FROM k WHERE n < 4000) INSERT INTO logs SELECT n, randomblob(300) FROM k")
c.execute("PRAGMA cache_size = 10"); c.execute("BEGIN"); c.execute("UPDATE logs SET trace = randomblob(300)")
os._exit(9)
`;
    expect(() => python(script, file)).toThrow();
    const ours = memoryFile(new Uint8Array(readFileSync(file)));
    const outcome = rollBack(ours, memoryFile(new Uint8Array(readFileSync(`${file}-journal`))));
    expect((outcome as {pages: number}).pages).toBeGreaterThan(100);
    python("import sqlite3, sys; sqlite3.connect(sys.argv[1]).execute('SELECT count(*) FROM logs').fetchall()", file);
    expect(Buffer.compare(ours.bytes(), readFileSync(file))).toBe(0);
  });

  it("left in write-ahead mode by another program is opened all the same, and is refused while that one has it open", () => {
    const copy = join(folder, "wal.gpkg");
    copyFileSync(path, copy);
    python(
      "import sqlite3, sys; c = sqlite3.connect(sys.argv[1]); c.execute('PRAGMA journal_mode = WAL'); c.close()",
      copy,
    );
    expect(readFileSync(copy)[18]).toBe(2);
    within(host, copy, (book) => {
      expect(listFields(book)).toHaveLength(1);
      expect(verifyBook(book).flatMap(({faults}) => faults)).toEqual([]);
    });
    expect(readFileSync(copy)[18]).toBe(1);
    expect(readdirSync(folder).filter((name) => name.startsWith("wal"))).toEqual(["wal.gpkg"]);
    writeFileSync(`${copy}-wal`, "frames of a change");
    expect(() => within(host, copy, () => {})).toThrow(expect.objectContaining({code: "book/interrupted"}));
  });
});

it("a book loses nothing committed when its process is killed at any moment, 200 times", async () => {
  const outcome = await killAgainAndAgain(await nodeBookHost(), join(folder, "killed.gpkg"), 200, 11);
  console.log(
    `${outcome.kills} kills, ${outcome.midway} of them in the middle of a change; ${outcome.committed} changes committed, ${outcome.losses.length} lost`,
  );
  expect(outcome.losses).toEqual([]);
  expect(outcome.committed).toBeGreaterThan(100);
  expect(outcome.midway).toBeGreaterThan(80);
}, 3_600_000);
