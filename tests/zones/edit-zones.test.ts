import {beforeAll, describe, expect, it} from "vitest";
import {toLonLat} from "../../src/geo/frame.ts";
import {coverageIsValid, invalidReason, loadGeos} from "../../src/geo/geos.ts";
import {areaM2, contains} from "../../src/geo/measure.ts";
import type {LonLat, LonLatPolygon, MultiPolygon} from "../../src/geo/shapes.ts";
import {centreX, centreY} from "../../src/grid/grid.ts";
import {maskOf} from "../../src/grid/rasterize.ts";
import {type Random, seededRandom} from "../../src/stats/random.ts";
import {squareMetres} from "../../src/units/quantity.ts";
import {buildZones} from "../../src/zones/build-zones.ts";
import {replayEdits} from "../../src/zones/edit/replay-edits.ts";
import type {ZoneEdit, ZonePlace} from "../../src/zones/edit/zone-edit.ts";
import type {Feature} from "../../src/zones/feature-matrix.ts";
import type {ZoneMap} from "../../src/zones/zone-map.ts";
import {box, fieldFrom, layerFrom, randomLayer, ring} from "./fields.ts";

beforeAll(loadGeos);

// Three strips of 100 m by 300 m from west to east, 3, 6 and 9 t/ha.
const {field, grid} = fieldFrom(box(0, 0, 300, 300));
const strips: Feature[] = [{layer: layerFrom(grid, "yield", (x) => 3 + 3 * Math.floor(x / 100)), theme: "yield"}];
const at = (x: number, y: number): LonLat => toLonLat(field.frame, {x, y});
const place = (x: number, y: number, zone?: number): ZonePlace => ({at: at(x, y), ...(zone !== undefined && {zone})});
const square = (west: number, south: number, east: number, north: number): LonLatPolygon => [
  (box(west, south, east, north)[0]?.[0] ?? []).map(({x, y}) => at(x, y)),
];
const options = {count: 3, minArea: squareMetres(1000)};
let map: ZoneMap;
beforeAll(() => {
  map = buildZones({field, grid, features: strips}, options);
});
const edit = (...edits: ZoneEdit[]) => replayEdits({field, grid, features: strips}, map, edits, options);
const areas = ({zones}: ZoneMap): number[] => zones.map(({area}) => Math.round(area));

describe("edits by hand", () => {
  it("merge zones under the number and name of the first named", () => {
    const {map: merged} = edit(
      {edit: "rename", zone: place(250, 100, 3), name: "Bottom ground"},
      {edit: "merge", zones: [place(250, 100, 3), place(50, 100, 1)]},
    );
    expect(areas(merged)).toEqual([30_000, 60_000]);
    expect(merged.zones.map(({id, label}) => [id, label])).toEqual([
      [1, "Zone 1"],
      [2, "Bottom ground"],
    ]);
    expect(merged.zones[1]?.means.yield).toBeCloseTo(6, 9);
    // 3 and 9 in one zone of mean 6: all that varies, varies within it.
    expect(merged.varianceExplained.tidied).toBeCloseTo(0, 9);
  });

  it("split a zone by a line, the smaller side under a new number", () => {
    const {map: cut} = edit({
      edit: "split",
      zone: place(150, 150, 2),
      line: [at(90, 200), at(210, 200)],
      name: "Knoll",
    });
    expect(areas(cut)).toEqual([30_000, 20_000, 30_000, 10_000]);
    expect(cut.zones[3]?.label).toBe("Knoll");
    expect(contains(cut.zones[3]?.shape ?? [], 150, 250)).toBe(true);
  });

  it("split a zone by a line there and back, all of one side together", () => {
    const {map: cut} = edit({
      edit: "split",
      zone: place(150, 150, 2),
      line: [at(90, 100), at(210, 100), at(210, 150), at(90, 150)],
    });
    expect(areas(cut)).toEqual([30_000, 25_000, 30_000, 5_000]);
  });

  it("split a zone by kind of ground", () => {
    const {map: one} = edit({edit: "merge", zones: [place(150, 100), place(250, 100)]});
    expect(one.zones).toHaveLength(2);
    const {map: again} = edit(
      {edit: "merge", zones: [place(150, 100), place(250, 100)]},
      {edit: "split", zone: place(150, 100, 2), parts: 2},
    );
    expect(areas(again)).toEqual([30_000, 30_000, 30_000]);
    expect(again.zones.map(({means}) => means.yield)).toEqual([3, 6, 9]);
  });

  it("give the ground in a polygon to a zone, and pin one as a zone of its own", () => {
    const {map: moved} = edit(
      {edit: "assign", polygon: square(80, 0, 120, 50), to: place(50, 100, 1)},
      {edit: "pin", polygon: square(240, 240, 330, 330), name: "Old yard"},
    );
    expect(areas(moved)).toEqual([31_000, 29_000, 26_400, 3_600]);
    expect(moved.zones[3]?.label).toBe("Old yard");
  });

  it("let a zone go when all its ground is given away", () => {
    const {map: moved} = edit({edit: "assign", polygon: square(-10, -10, 101, 310), to: place(150, 100, 2)});
    expect(areas(moved)).toEqual([60_000, 30_000]);
  });

  it("follow a border that a drawn line comes close to", () => {
    const {map: moved} = edit({edit: "assign", polygon: square(101.4, 0, 150, 50), to: place(50, 100, 1)});
    expect(areas(moved)).toEqual([32_500, 27_500, 30_000]);
  });

  it("undo as a shorter list: no edits are the map itself", () => {
    expect(edit().map).toBe(map);
  });
});

describe("edits that no longer apply", () => {
  const reasons = (...edits: ZoneEdit[]) => edit(...edits).outcomes.map(({reason}) => reason);

  it("say why and where, and leave the others standing", () => {
    const {map: left, outcomes} = edit(
      {edit: "rename", zone: place(150, 100, 3), name: "Wrong"},
      {edit: "merge", zones: [place(150, 100, 2), place(250, 100, 3)]},
    );
    expect(outcomes).toEqual([
      {number: 1, edit: "rename", applied: false, reason: "it means zone 3, and at its place there is zone 2 now"},
      {number: 2, edit: "merge", applied: true},
    ]);
    expect(left.zones).toHaveLength(2);
    const [lon, lat] = at(150, 100);
    expect(left.issues).toEqual([
      {
        code: "zones/edit-not-applied",
        severity: "warning",
        message: "Edit 1 (rename) does not apply to this map: it means zone 3, and at its place there is zone 2 now.",
        place: {lon, lat},
        hint: "Look at the new map; then write 2, move the place, or take the edit out.",
      },
    ]);
  });

  it("are each told for what they are", () => {
    expect(reasons({edit: "rename", zone: place(400, 100), name: "Off"})).toEqual(["its place is not in the field"]);
    expect(reasons({edit: "merge", zones: [place(50, 100), place(60, 200)]})).toEqual([
      "its places lie in one zone already",
    ]);
    expect(reasons({edit: "split", zone: place(150, 100), line: [at(10, 10), at(10, 290)]})).toEqual([
      "its line does not cut zone 2 in two",
    ]);
    expect(reasons({edit: "split", zone: place(150, 100), line: [at(150, 10), at(150, 200)]})).toEqual([
      "its line does not cut zone 2 in two",
    ]);
    expect(reasons({edit: "split", zone: place(150, 100), parts: 3})).toEqual([
      "zone 2 has no 3 kinds of ground that are large enough",
    ]);
    expect(reasons({edit: "assign", polygon: square(20, 20, 40, 40), to: place(50, 100)})).toEqual([
      "its polygon moves no ground of the field",
    ]);
    expect(reasons({edit: "pin", polygon: square(20, 20, 24, 24)})).toEqual([
      "its polygon is too small to be a piece of a zone",
    ]);
  });

  it("are told after a new season has moved the zones, while pinned ground stays", () => {
    const later: Feature[] = [{layer: layerFrom(grid, "yield", (_, y) => 3 + 3 * Math.floor(y / 100)), theme: "yield"}];
    const moved = buildZones({field, grid, features: later}, options);
    const {map: again, outcomes} = replayEdits(
      {field, grid, features: later},
      moved,
      [
        {edit: "pin", polygon: square(120, 120, 180, 180), name: "Old yard"},
        {edit: "rename", zone: place(50, 250, 1), name: "Slope"},
        {edit: "merge", zones: [place(50, 50, 1), place(50, 250, 3)]},
      ],
      options,
    );
    expect(outcomes.map(({applied}) => applied)).toEqual([true, false, true]);
    expect(again.zones.find(({label}) => label === "Old yard")?.area).toBeCloseTo(3600, 3);
  });
});

// A bay, a hole and a second part.
const rough: MultiPolygon = [
  [
    ring([0, 0], [320, 0], [320, 120], [250, 150], [330, 180], [330, 300], [0, 320]),
    ring([100, 100], [90, 160], [150, 170], [160, 90]),
  ],
  ...box(350, 20, 430, 120),
];
const made = fieldFrom(rough, 8);

function randomEdit(random: Random, zones: number): ZoneEdit {
  const point = (): LonLat => toLonLat(made.field.frame, {x: -20 + 470 * random.next(), y: -20 + 360 * random.next()});
  const zone = (): ZonePlace => ({at: point(), ...(random.next() < 0.1 && {zone: 1 + random.integer(zones)})});
  const polygon = (): LonLatPolygon => [Array.from({length: 3 + random.integer(6)}, point)];
  switch (random.integer(6)) {
    case 0:
      return {edit: "merge", zones: [zone(), zone(), ...(random.next() < 0.2 ? [zone()] : [])]};
    case 1:
      return {edit: "split", zone: zone(), line: Array.from({length: 2 + random.integer(4)}, point)};
    case 2:
      return {edit: "split", zone: zone(), parts: 2 + random.integer(2)};
    case 3:
      return {edit: "assign", polygon: polygon(), to: zone()};
    case 4:
      return {edit: "rename", zone: zone(), name: `Ground ${random.integer(9)}`};
    default:
      return {edit: "pin", polygon: polygon()};
  }
}

describe("two hundred random lists of edits", () => {
  const features = (random: Random): Feature[] => [{layer: randomLayer(made.grid, "yield", random), theme: "yield"}];
  const mask = maskOf(made.grid, rough);
  const whole = areaM2(rough);

  it.each(Array.from({length: 20}, (_, i) => i))(
    "leave valid coverages of the field (ten lists, number %i)",
    (tens) => {
      const layers = features(seededRandom(tens, "layer"));
      const built = buildZones({...made, features: layers}, {count: 4, restarts: 1});
      for (let seed = 10 * tens; seed < 10 * tens + 10; seed++) {
        const random = seededRandom(seed, "edits");
        const edits = Array.from({length: 1 + random.integer(8)}, () => randomEdit(random, 5));
        const replay = () => replayEdits({...made, features: layers}, built, edits, {count: 4, restarts: 1});
        const {map: result, outcomes} = replay();
        const {zones, cells} = result;
        // Each edit took effect or says why not.
        expect(outcomes).toHaveLength(edits.length);
        for (const {applied, reason} of outcomes) expect(applied).toBe(reason === undefined);
        // Valid, edge-matched, without gaps, and the area of the field but for the order of sums.
        for (const {shape} of zones) expect(invalidReason(shape)).toBeUndefined();
        expect(
          coverageIsValid(
            zones.flatMap(({shape}) => shape),
            0.1,
          ),
        ).toBe(true);
        expect(Math.abs(zones.reduce((sum, {area}) => sum + area, 0) / whole - 1)).toBeLessThan(1e-9);
        // Every cell of the field is in the zone whose polygon holds its centre.
        cells.forEach((zone, i) => {
          if (mask[i] === 0) expect(zone).toBe(0);
          else {
            const x = centreX(made.grid, i % made.grid.cols);
            const y = centreY(made.grid, Math.floor(i / made.grid.cols));
            if (!contains(zones[zone - 1]?.shape ?? [], x, y)) throw new Error(`cell ${i} is not in zone ${zone}`);
          }
        });
        expect(zones.map(({id}) => id)).toEqual(zones.map((_, i) => i + 1));
        if (seed % 10 === 0) expect(replay().map).toEqual(result);
      }
    },
  );
});
