import type {FeatureSet} from "../../src/geo/features.ts";
import {multiPolygonToLonLat} from "../../src/geo/frame.ts";
import {areaM2, boxOf} from "../../src/geo/measure.ts";
import {sharedBorders} from "../../src/geo/neighbours.ts";
import {dissolve, type Partition, partition} from "../../src/geo/partition.ts";
import type {Box, MultiPolygon, Polygon, XY} from "../../src/geo/shapes.ts";
import {contourLines} from "./contour.ts";
import type {SampleField} from "./farm.ts";
import {smoothNoise} from "./noise.ts";
import {type GroundTruth, groundAt} from "./truth.ts";

/** A made-up map unit: what a survey's legend would say of it. */
export interface MapUnit {
  readonly unit: string;
  readonly name: string;
  readonly slope: string;
  readonly omPct: number;
  readonly clayPct: number;
  /** Water the top metre holds for plants, cm. */
  readonly awcCm: number;
}

const FLAT: MapUnit = {
  unit: "Fb1",
  name: "Flat till silt loam",
  slope: "0 to 2 percent slopes",
  omPct: 2.5,
  clayPct: 21,
  awcCm: 19.5,
};
const KNOLL: MapUnit = {
  unit: "Kc2",
  name: "Eroded knoll clay loam",
  slope: "2 to 6 percent slopes",
  omPct: 1.6,
  clayPct: 25,
  awcCm: 15.5,
};
const WET: MapUnit = {
  unit: "Wa",
  name: "Wet swale silty clay loam",
  slope: "0 to 1 percent slopes",
  omPct: 4.5,
  clayPct: 32,
  awcCm: 21,
};
const SANDY: MapUnit = {
  unit: "Sb",
  name: "Outwash streak sandy loam",
  slope: "1 to 4 percent slopes",
  omPct: 1.7,
  clayPct: 11,
  awcCm: 11,
};
const HOLLOW: MapUnit = {
  unit: "Ha",
  name: "Closed hollow mucky silty clay loam",
  slope: "0 to 1 percent slopes",
  omPct: 8,
  clayPct: 34,
  awcCm: 24,
};
/** Index in this list is the label of a map polygon. */
const LEGEND: readonly MapUnit[] = [FLAT, KNOLL, WET, SANDY, HOLLOW];

const MARGIN_M = 110;
const STEP_M = 10;
/** Smaller areas are not drawn. */
const SMALLEST_M2 = 2400;

/** One delineation of the map, metres. */
export interface Delineation {
  readonly unit: MapUnit;
  readonly polygon: Polygon;
}

/** The sheet as features on the earth, with the legend's numbers on every polygon. */
export function soilMap(field: SampleField): FeatureSet {
  const features = delineations(field).map(({unit, polygon}) => ({
    geometry: {type: "Polygon" as const, coordinates: multiPolygonToLonLat(field.frame, [polygon])[0] ?? []},
    properties: {
      unit: unit.unit,
      name: `${unit.name}, ${unit.slope}`,
      slope: unit.slope,
      om_pct: unit.omPct,
      clay_pct: unit.clayPct,
      awc_cm: unit.awcCm,
    },
  }));
  return {name: "soil", features};
}

/**
 * What a surveyor would have drawn: the ground as seen from a few borings, so that lines are smooth, some metres off
 * and blind to small spots. The polygons form a coverage of the field and a margin around it.
 */
export function delineations(field: SampleField): Delineation[] {
  const box = boxOf(field.outline);
  const sheet: Box = {
    west: Math.floor((box.west - MARGIN_M) / STEP_M) * STEP_M,
    south: Math.floor((box.south - MARGIN_M) / STEP_M) * STEP_M,
    east: Math.ceil((box.east + MARGIN_M) / STEP_M) * STEP_M,
    north: Math.ceil((box.north + MARGIN_M) / STEP_M) * STEP_M,
  };
  const seen = surveyed(field);
  const cuts = (["wet", "knoll", "sand", "muck"] as const).flatMap((what) =>
    contourLines((x, y) => seen(x, y)[what], 0.5, sheet, STEP_M),
  );
  const division = partition(outlineOf(sheet), cuts);
  const labels = withoutSmall(
    division,
    division.inside.map(({x, y}) => unitOf(seen(x, y))),
  );
  return dissolve(division, labels).flatMap(({label, shape}) =>
    shape.map((polygon) => ({unit: LEGEND[label] as MapUnit, polygon})),
  );
}

type Seen = Pick<GroundTruth, "wet" | "knoll" | "sand" | "muck">;

/** The ground averaged over the reach of a boring and moved by the error of an old air photo. */
function surveyed(field: SampleField): (x: number, y: number) => Seen {
  const east = smoothNoise(field.seed, "survey/east", 260);
  const north = smoothNoise(field.seed, "survey/north", 260);
  return (x, y) => {
    const atX = x + 9 + 8 * east(x, y);
    const atY = y - 6 + 8 * north(x, y);
    const around = RING.map(({x: dx, y: dy}) => groundAt(field, atX + dx, atY + dy));
    const mean = (what: keyof Seen): number => around.reduce((sum, ground) => sum + ground[what], 0) / around.length;
    return {wet: mean("wet"), knoll: mean("knoll"), sand: mean("sand"), muck: mean("muck")};
  };
}

const RING: readonly XY[] = [0, 12, 24].flatMap((radius) =>
  Array.from({length: radius === 0 ? 1 : 6}, (_, k) => ({
    x: radius * Math.cos((k * Math.PI) / 3),
    y: radius * Math.sin((k * Math.PI) / 3),
  })),
);

function unitOf({wet, knoll, sand, muck}: Seen): number {
  if (muck > 0.5) return LEGEND.indexOf(HOLLOW);
  if (sand > 0.5) return LEGEND.indexOf(SANDY);
  if (wet > 0.5) return LEGEND.indexOf(WET);
  return LEGEND.indexOf(knoll > 0.5 ? KNOLL : FLAT);
}

/** Areas too small to draw go to the neighbour they share most border with, the smallest first. */
function withoutSmall(division: Partition, labels: readonly number[]): number[] {
  const out = [...labels];
  const borders = sharedBorders(division);
  const areas = division.faces.map((face) => areaM2([face]));
  for (;;) {
    const regions = connected(out, borders);
    const sizes = regions.map((faces) => faces.reduce((sum, face) => sum + (areas[face] as number), 0));
    const smallest = sizes.indexOf(Math.min(...sizes));
    if ((sizes[smallest] as number) >= SMALLEST_M2 || regions.length === 1) return out;
    const shared = new Map<number, number>();
    for (const face of regions[smallest] as number[]) {
      for (const [other, length] of borders[face] ?? []) {
        const label = out[other] as number;
        if (label !== out[face]) shared.set(label, (shared.get(label) ?? 0) + length);
      }
    }
    const [taker] = [...shared.entries()].sort(([a, p], [b, q]) => q - p || a - b)[0] as [number, number];
    for (const face of regions[smallest] as number[]) out[face] = taker;
  }
}

/** Faces of one label that hang together, in order of their first face. */
function connected(labels: readonly number[], borders: readonly ReadonlyMap<number, number>[]): number[][] {
  const seen = new Set<number>();
  return labels.flatMap((label, first) => {
    if (seen.has(first)) return [];
    const region = [first];
    seen.add(first);
    for (const face of region) {
      for (const other of borders[face]?.keys() ?? []) {
        if (labels[other] !== label || seen.has(other)) continue;
        seen.add(other);
        region.push(other);
      }
    }
    return [region];
  });
}

function outlineOf({west, south, east, north}: Box): MultiPolygon {
  const ring = [
    {x: west, y: south},
    {x: east, y: south},
    {x: east, y: north},
    {x: west, y: north},
    {x: west, y: south},
  ];
  return [[ring]];
}
