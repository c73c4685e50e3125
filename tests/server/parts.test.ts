import fc from "fast-check";
import {describe, expect, it} from "vitest";
import {attached} from "../../src/server/attach.ts";
import {recent} from "../../src/server/recent.ts";
import {freeName} from "../../src/server/sources.ts";
import {canRedo, canUndo, gone, moved, type Trail, trailTo} from "../../src/server/undo.ts";

describe("a source put into a job", () => {
  it("is added to a list, or takes the place there is", () => {
    const job = {field: {name: "A"}, layers: {cellSize: "5 m", elevation: {file: "old.tif"}}};
    expect(attached(job, "a.csv", "yield", {crop: "corn", season: 2025})).toEqual({
      field: {name: "A"},
      layers: {cellSize: "5 m", elevation: {file: "old.tif"}, yield: [{file: "a.csv", crop: "corn", season: 2025}]},
    });
    expect(attached(job, "new.tif", "elevation", {})).toEqual({
      field: {name: "A"},
      layers: {cellSize: "5 m", elevation: {file: "new.tif"}},
    });
    expect(job.layers.elevation.file).toBe("old.tif");
  });

  it("takes its own place again, but a setback of another kind stands beside", () => {
    const once = attached({}, "water.geojson", "setback", {name: "ditch"});
    expect(attached(once, "water.geojson", "setback", {name: "well"}).setbacks).toHaveLength(2);
    const log = attached({}, "a.csv", "yield", {season: 2024});
    expect(attached(log, "a.csv", "yield", {season: 2025})).toEqual({layers: {yield: [{file: "a.csv", season: 2025}]}});
  });

  it("names its file itself, whatever the settings say", () => {
    expect(attached({}, "a.tif", "raster", {file: "other.tif", label: "EC"})).toEqual({
      layers: {rasters: [{file: "a.tif", label: "EC"}]},
    });
  });
});

describe("undoing and redoing", () => {
  it("is a walk along what was worked on: any changes and steps end where a list would", () => {
    const steps = fc.array(fc.oneof(fc.integer({min: 1, max: 9}), fc.constant("undo"), fc.constant("redo")));
    fc.assert(
      fc.property(steps, (deeds) => {
        let trail: Trail = trailTo(1);
        const past = [1];
        let future: number[] = [];
        for (const deed of deeds) {
          if (typeof deed === "number") {
            trail = gone(trail, deed);
            if (past.at(-1) !== deed) {
              past.push(deed);
              future = [];
            }
            continue;
          }
          const step = moved(trail, deed === "undo" ? -1 : 1);
          if (deed === "undo" && past.length > 1) future.unshift(past.pop() as number);
          else if (deed === "redo" && future.length > 0) past.push(future.shift() as number);
          else expect(step).toBeUndefined();
          trail = step?.trail ?? trail;
        }
        expect(trail.versions[trail.at]).toBe(past.at(-1));
        expect(canUndo(trail)).toBe(past.length > 1);
        expect(canRedo(trail)).toBe(future.length > 0);
      }),
    );
  });

  it("starts from every version the book has", () => {
    expect(trailTo(3)).toEqual({versions: [1, 2, 3], at: 2});
  });
});

describe("a memory of bounded size", () => {
  it("lets go of what was longest unused, and keeps one item however large", () => {
    const kept = recent<string>(6, ({length}) => length);
    kept.set("a", "xxx");
    kept.set("b", "xxx");
    kept.get("a");
    kept.set("c", "xxx");
    expect(["a", "b", "c"].map((key) => kept.get(key) !== undefined)).toEqual([true, false, true]);
    kept.set("d", "x".repeat(100));
    expect(["a", "b", "c", "d"].map((key) => kept.get(key) !== undefined)).toEqual([false, false, false, true]);
  });
});

describe("a name that is free", () => {
  it("keeps its ending and counts up", () => {
    expect(freeName("log.csv", [])).toBe("log.csv");
    expect(freeName("log.csv", ["log.csv", "log 2.csv"])).toBe("log 3.csv");
    expect(freeName("log", ["log"])).toBe("log 2");
  });
});
