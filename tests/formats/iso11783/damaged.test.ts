import fc from "fast-check";
import {beforeAll, describe, expect, it} from "vitest";
import {isFieldError} from "../../../src/errors.ts";
import {readGeoPackage} from "../../../src/formats/geopackage/read-geopackage.ts";
import type {SqliteHost} from "../../../src/formats/geopackage/sqlite.ts";
import {writeGeoPackage} from "../../../src/formats/geopackage/write-geopackage.ts";
import {checkTaskData} from "../../../src/formats/iso11783/check-task-data.ts";
import {readTaskData} from "../../../src/formats/iso11783/read-task-data.ts";
import {nodeHost} from "../geopackage/host.ts";
import {box, grid, map, planOf, twoZones, written} from "./plans.ts";

/** What a bad medium does to a file: bytes changed, a piece gone, the end gone. */
interface Damage {
  readonly kind: "byte" | "hole" | "cut";
  readonly where: number;
  readonly size: number;
}
const damage: fc.Arbitrary<Damage> = fc.record({
  kind: fc.constantFrom("byte" as const, "hole" as const, "cut" as const),
  where: fc.double({min: 0, max: 1, noNaN: true, maxExcluded: true}),
  size: fc.integer({min: 0, max: 255}),
});

function damaged(bytes: Uint8Array, {kind, where, size}: Damage): Uint8Array {
  const at = Math.floor(where * bytes.length);
  if (kind === "cut") return bytes.slice(0, at);
  if (kind === "hole") return Uint8Array.from([...bytes.subarray(0, at), ...bytes.subarray(at + size)]);
  return bytes.map((byte, i) => (i === at ? size : byte));
}

/** A result, or an error the user can act on. */
async function survives(work: () => unknown): Promise<void> {
  try {
    await work();
  } catch (error) {
    if (!isFieldError(error)) throw error;
    expect(error.message).not.toBe("");
  }
}

describe("damaged files give a result with remarks or an error in plain words, never a crash", () => {
  const sets = [
    written(twoZones()).files,
    ...([1, 2] as const).map((type) => written(planOf([map], {grid: grid(type, [1, 2])})).files),
  ];

  it("task data", async () => {
    await fc.assert(
      fc.asyncProperty(
        fc.constantFrom(...sets),
        fc.array(damage, {minLength: 1, maxLength: 3}),
        async (files, hurts) => {
          const hurt = new Map([...files].map(([name, bytes]) => [name, hurts.reduce(damaged, bytes)]));
          await survives(() => readTaskData(hurt));
          await survives(() => checkTaskData(hurt));
        },
      ),
      {numRuns: 500},
    );
  });

  let host: SqliteHost;
  beforeAll(async () => {
    host = await nodeHost();
  });
  it("GeoPackages", async () => {
    const features = Array.from({length: 60}, (_, i) => ({
      geometry: {type: "Polygon" as const, coordinates: box(-93 + i * 1e-3, 42, -92.9995 + i * 1e-3, 42.01)},
      properties: {i, text: `t${i}`, share: i / 3},
    }));
    const sound = writeGeoPackage(host, [{name: "zones", features}]).value;
    await fc.assert(
      fc.asyncProperty(damage, (hurt) => survives(() => readGeoPackage(host, damaged(sound, hurt), "x.gpkg"))),
      {numRuns: 100},
    );
  });
});
