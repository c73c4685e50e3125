import type {Field} from "../../src/geo/field.ts";
import {difference, union} from "../../src/geo/geos.ts";
import {areaM2, boxOf} from "../../src/geo/measure.ts";
import {dissolve, partition} from "../../src/geo/partition.ts";
import type {MultiPolygon, Ring, XY} from "../../src/geo/shapes.ts";
import type {Random} from "../../src/stats/random.ts";
import {METRES_PER_FOOT} from "../../src/units/factors.ts";
import {metres, squareMetres} from "../../src/units/quantity.ts";
import type {ZoneMap} from "../../src/zones/zone-map.ts";

/** A field straight in its own frame; its boundary in degrees is not used by plans. */
export function fieldOf(outline: MultiPolygon, name = "Test field"): Field {
  return {
    id: name.toLowerCase().replaceAll(" ", "-"),
    name,
    boundary: [],
    frame: {kind: "transverse-mercator", lon: -86.4, lat: 40.55},
    outline,
    area: squareMetres(areaM2(outline)),
  };
}

export function ringOf(...points: readonly (readonly [number, number])[]): Ring {
  const corners = points.map(([x, y]) => ({x, y}));
  return [...corners, corners[0] as XY];
}

/** A north-up rectangle with its south-west corner at the origin, sides in feet. */
export function rectangleFt(width: number, height: number): MultiPolygon {
  const [w, h] = [width * METRES_PER_FOOT, height * METRES_PER_FOOT];
  return [[ringOf([0, 0], [w, 0], [w, h], [0, h])]];
}

export function turned(shape: MultiPolygon, degrees: number): MultiPolygon {
  const [cos, sin] = [Math.cos((degrees * Math.PI) / 180), Math.sin((degrees * Math.PI) / 180)];
  return shape.map((polygon) =>
    polygon.map((ring) => ring.map(({x, y}) => ({x: x * cos - y * sin, y: x * sin + y * cos}))),
  );
}

/** Fields as they come: wavy, notched, with ponds and waterways, in parts, finely digitised, in sixteenths of a section. */
export function randomField(random: Random): MultiPolygon {
  const between = (low: number, high: number): number => low + (high - low) * random.next();
  const blob = (x: number, y: number, radius: number, corners: number): MultiPolygon => {
    const waves = [2, 3, 5].map((n) => ({n, height: between(0, 0.15), phase: between(0, 6.3)}));
    const points = Array.from({length: corners}, (_, i): [number, number] => {
      const angle = (2 * Math.PI * i) / corners;
      const r = radius * waves.reduce((sum, w) => sum + w.height * Math.sin(w.n * angle + w.phase), 1);
      return [x + r * Math.cos(angle), y + r * Math.sin(angle)];
    });
    return [[ringOf(...points)]];
  };
  const box = (x: number, y: number, w: number, h: number): MultiPolygon => [
    [ringOf([x, y], [x + w, y], [x + w, y + h], [x, y + h])],
  ];
  const kinds: (() => MultiPolygon)[] = [
    () => blob(between(-900, 900), between(-900, 900), between(150, 450), 40),
    () =>
      difference(box(0, 0, between(300, 900), between(300, 900)), box(200, between(100, 250), between(50, 400), 2000)),
    () => difference(blob(0, 0, between(300, 450), 60), union([blob(-80, 60, 50, 12), blob(120, -90, 70, 16)])),
    () => difference(box(0, 0, 800, between(400, 800)), [[ringOf([300, -10], [320, -10], [520, 390], [500, 390])]]),
    () => [
      ...blob(-500, 0, between(150, 300), 30),
      ...box(0, 0, between(60, 400), between(200, 700)),
      ...box(-60, -90, 40, 40),
    ],
    () => blob(0, 0, between(300, 450), 1200),
    () => {
      const ft = (n: number): number => n * 330 * METRES_PER_FOOT;
      const whole = box(0, 0, ft(8), ft(4 + random.integer(5)));
      return difference(whole, box(ft(random.integer(3)), ft(2), ft(1 + random.integer(4)), ft(1 + random.integer(9))));
    },
  ];
  const shape = (kinds[random.integer(kinds.length)] as () => MultiPolygon)();
  return random.next() < 0.3 ? shape : turned(shape, between(0, 180));
}

/** Three bands across a field with wavy borders; a band may be in several pieces. */
export function bandedZones(field: Field): ZoneMap {
  const {west, south, east, north} = boxOf(field.outline);
  const wave = (share: number, x: number): number =>
    south + share * (north - south) + 0.08 * (north - south) * Math.sin(x / 60);
  const line = (share: number): XY[] =>
    Array.from({length: 61}, (_, i) => {
      const x = west - 1 + ((east - west + 2) * i) / 60;
      return {x, y: wave(share, x)};
    });
  const division = partition(field.outline, [line(0.3), line(0.6)]);
  const labels = division.inside.map((p) => (p.y < wave(0.3, p.x) ? 1 : p.y < wave(0.6, p.x) ? 2 : 3));
  const zones = dissolve(division, labels).map(({label, shape}) => ({
    id: label,
    label: `Zone ${label}`,
    area: squareMetres(areaM2(shape)),
    shape,
    means: {},
  }));
  return {
    grid: {frame: field.frame, west: metres(0), north: metres(0), cellSize: metres(5), cols: 0, rows: 0},
    cells: new Uint8Array(),
    zones,
    varianceExplained: {clustered: 1, tidied: 1},
    issues: [],
    madeFrom: {step: "zones/build", inputs: [], options: {}},
  };
}
