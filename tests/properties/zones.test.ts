import {beforeAll, describe, expect, it} from "vitest";
import {multiPolygonToLonLat} from "../../src/geo/frame.ts";
import {buffer, coverageIsValid, difference, intersection, invalidReason, loadGeos} from "../../src/geo/geos.ts";
import {areaM2, polygonAreaM2} from "../../src/geo/measure.ts";
import type {MultiPolygon} from "../../src/geo/shapes.ts";
import {maskOf} from "../../src/grid/rasterize.ts";
import {seededRandom} from "../../src/stats/random.ts";
import {metres, squareMetres} from "../../src/units/quantity.ts";
import {buildZones} from "../../src/zones/build-zones.ts";
import type {Feature, Theme} from "../../src/zones/feature-matrix.ts";
import type {ZoneMap} from "../../src/zones/zone-map.ts";
import {fieldFrom, layerFrom, randomLayer} from "../zones/fields.ts";
import {edgeFaults} from "./edge-use.ts";
import {randomOutline} from "./random-outline.ts";

beforeAll(loadGeos);

/** Five hundred with the reference suite, else as many as a coffee break of a machine allows. */
const FIELDS = process.env.LOAMWRIGHT_REFERENCE ? 500 : 120;

interface Case {
  readonly outline: MultiPolygon;
  readonly cellSize: number;
  readonly minAreaM2: number;
  readonly minWidthM: number;
  readonly build: () => ZoneMap;
  readonly mask: Uint8Array;
}

function randomCase(seed: number): Case {
  const random = seededRandom(seed, "field");
  const outline = randomOutline(random);
  const cellSize = 5 + random.integer(5);
  const made = fieldFrom(outline, cellSize);
  const themes: Theme[] = ["yield", "soil", "terrain", "sensed"];
  const features: Feature[] = Array.from({length: 1 + random.integer(3)}, (_, i) => {
    const layer = randomLayer(made.grid, `layer ${i}`, random, 30 + 150 * random.next(), 0.6 * random.next());
    const gaps = layerFrom(made.grid, `layer ${i}`, () => (random.next() < 0.05 ? Number.NaN : 0));
    return {
      layer: {...layer, values: layer.values.map((v, cell) => v + (gaps.values[cell] as number))},
      theme: themes[random.integer(4)] as Theme,
    };
  });
  const minAreaM2 = random.next() < 0.2 ? 0 : 500 + 4000 * random.next();
  const minWidthM = random.next() < 0.4 ? 0 : 12 + 20 * random.next();
  const options = {
    count: 2 + random.integer(5),
    minArea: squareMetres(minAreaM2),
    minWidth: metres(minWidthM),
    calm: random.next() < 0.7 ? 0 : 0.01,
    smoothing: metres(random.next() < 0.2 ? 0 : 25 * random.next()),
    restarts: 2,
    seed,
  };
  const build = (): ZoneMap => buildZones({...made, features}, options);
  return {outline, cellSize, minAreaM2, minWidthM, build, mask: maskOf(made.grid, outline)};
}

describe(`zones of ${FIELDS} random fields`, () => {
  for (let seed = 1; seed <= FIELDS; seed++) {
    it(`are a valid coverage with every cell and acre in one zone (field ${seed})`, () => {
      const {outline, cellSize, minAreaM2, minWidthM, build, mask} = randomCase(seed);
      const map = build();
      const {zones, cells, issues} = map;
      const faces = zones.flatMap(({shape}) => shape);

      // Every cell whose centre is in the field, and no other, is in a zone.
      cells.forEach((zone, i) => {
        if ((zone > 0 && zone <= zones.length) !== (mask[i] === 1)) throw new Error(`cell ${i} is in zone ${zone}`);
      });
      expect(zones.map(({id}) => id)).toEqual(zones.map((_, i) => i + 1));

      // Areas add up to the outline's: only the order of sums differs.
      const total = zones.reduce((sum, {area}) => sum + area, 0);
      expect(Math.abs(total / areaM2(outline) - 1)).toBeLessThan(1e-9);
      for (const {shape} of zones) expect(invalidReason(shape)).toBeUndefined();
      expect(coverageIsValid(faces, 0.1)).toBe(true);
      // Corners lie on a grid of 60 nm, so an outer edge may leave the outline by that.
      expect(edgeFaults(faces, outline)).toEqual([]);

      // Rounded more coarsely than any file is written, to 1e-8 degrees (1 mm), both neighbours round alike.
      expect(edgeFaults(rounded(map))).toEqual([]);
      expect(coverageIsValid(rounded(map), 1e-6)).toBe(true);

      // The minimum area is kept, but for parts of the field that are smaller themselves, and these are named.
      const small = faces.filter((piece) => polygonAreaM2(piece) < minAreaM2);
      const named = issues.find(({code}) => code === "zones/piece-under-minimum")?.message ?? "0";
      expect(Number.parseInt(named, 10)).toBe(small.length);
      const parts = outline.map(polygonAreaM2);
      for (const piece of small) {
        // A small part notices the 60 nm more than the whole field.
        expect(Math.min(...parts.map((part) => Math.abs(part / polygonAreaM2(piece) - 1)))).toBeLessThan(1e-6);
      }

      // The minimum width is kept to within a cell and a half, or what is narrower is named.
      if (minWidthM > 0 && !issues.some(({code}) => code === "zones/narrow-ground")) {
        expect(narrowPieces(zones, outline, minWidthM - 1.5 * cellSize, minWidthM)).toEqual([]);
      }

      if (seed % 10 === 0) expect(build()).toEqual(map);
    });
  }
});

function rounded({zones, grid}: ZoneMap): MultiPolygon {
  const round = (degrees: number): number => Math.round(degrees * 1e8) / 1e8;
  return multiPolygonToLonLat(
    grid.frame,
    zones.flatMap(({shape}) => shape),
  ).map((polygon) => polygon.map((ring) => ring.map(([lon, lat]) => ({x: round(lon), y: round(lat)}))));
}

/** By GEOS: what a disc cannot reach within a zone although a wider one could within the field, in pieces that matter. */
function narrowPieces(
  zones: ZoneMap["zones"],
  outline: MultiPolygon,
  widthM: number,
  minWidthM: number,
): readonly number[] {
  if (widthM <= 0) return [];
  const opened = (shape: MultiPolygon, width: number): MultiPolygon =>
    buffer(buffer(shape, -width / 2), width / 2 + 0.1);
  const roomy = opened(outline, minWidthM);
  return zones
    .flatMap(({shape}) => difference(intersection(shape, roomy), opened(shape, widthM)))
    .map(polygonAreaM2)
    .filter((area) => area > (minWidthM / 2) ** 2);
}
