import initGeos from "geos-wasm";
import {geojsonToGeosGeom, geosGeomToGeojson} from "geos-wasm/helpers";
import {ringAreaM2} from "./measure.ts";
import type {MultiPolygon, Polygon, Ring, XY} from "./shapes.ts";

/**
 * The one door to GEOS (LGPL-3.0-or-later, WebAssembly): overlay, buffer, validity, noding. Everything a function
 * here allocates it frees again.
 *
 * Loading is asynchronous, so a host calls `loadGeos()` once before it runs stages; the stages stay synchronous.
 */
export async function loadGeos(): Promise<void> {
  // GEOS prints what it also returns; a library does not print.
  const quiet = {errorHandler: () => {}, noticeHandler: () => {}};
  engine ??= (await (initGeos as (config?: unknown) => Promise<unknown>)(quiet)) as Geos;
}

/** Why a shape is not a valid polygon, and where; undefined when it is one. */
export function invalidReason(shape: MultiPolygon): {reason: string; at: XY} | undefined {
  return scope((geos, keep) => {
    const g = keep(put(geos, shape));
    if (geos.GEOSisValid(g) === 1) return undefined;
    const text = geos.GEOSisValidReason(g);
    const reason = typeof text === "number" ? geos.Module.UTF8ToString(text) : String(text);
    const match = /^(.*?)\s*\[(\S+)\s+(\S+)\]$/.exec(reason);
    return match
      ? {reason: match[1] as string, at: {x: Number(match[2]), y: Number(match[3])}}
      : {reason, at: shape[0]?.[0]?.[0] ?? {x: 0, y: 0}};
  });
}

export function union(shapes: readonly MultiPolygon[]): MultiPolygon {
  return scope((geos, keep) => get(geos, keep(geos.GEOSUnaryUnion(keep(put(geos, shapes.flat()))))));
}

/**
 * Ground that both shapes have. Corners come out on the grid of `facesBetween`: with plain doubles GEOS 3.13 can give one
 * whole shape for two that only touch along a hair-thin spike.
 */
export function intersection(a: MultiPolygon, b: MultiPolygon): MultiPolygon {
  return scope((geos, keep) =>
    get(geos, keep(geos.GEOSIntersectionPrec(keep(put(geos, a)), keep(put(geos, b)), NODE_GRID_M))),
  );
}

/** Ground of the first shape that the second does not have; corners as in `intersection`. */
export function difference(a: MultiPolygon, b: MultiPolygon): MultiPolygon {
  return scope((geos, keep) =>
    get(geos, keep(geos.GEOSDifferencePrec(keep(put(geos, a)), keep(put(geos, b)), NODE_GRID_M))),
  );
}

/** Grown by `distanceM` (shrunk when negative), with 8 segments to a quarter circle. Empty when nothing is left. */
export function buffer(shape: MultiPolygon, distanceM: number): MultiPolygon {
  return scope((geos, keep) => get(geos, keep(geos.GEOSBuffer(keep(put(geos, shape)), distanceM, 8))));
}

/**
 * The ground within a distance of lines, with 8 segments to a quarter circle. A line of one point is a circle.
 *
 * @param distanceM - Above zero.
 */
export function bufferLines(lines: readonly (readonly XY[])[], distanceM: number): MultiPolygon {
  return scope((geos, keep) => {
    const grown = lines.flatMap((line) => {
      const json =
        line.length === 1
          ? {type: "Point" as const, coordinates: pair(line[0] as XY)}
          : {type: "LineString" as const, coordinates: line.map(pair)};
      return get(geos, keep(geos.GEOSBuffer(keep(geojsonToGeosGeom(json, geos)), distanceM, 8)));
    });
    return grown.length > 1 ? get(geos, keep(geos.GEOSUnaryUnion(keep(put(geos, grown))))) : grown;
  });
}

/** Fewer corners: no edge moves by more than `toleranceM` (Douglas and Peucker 1973); valid shapes stay valid. */
export function simplify(shape: MultiPolygon, toleranceM: number): MultiPolygon {
  return scope((geos, keep) => get(geos, keep(geos.GEOSTopologyPreserveSimplify(keep(put(geos, shape)), toleranceM))));
}

/** The nearest valid shape to an invalid one. */
export function makeValid(shape: MultiPolygon): MultiPolygon {
  return scope((geos, keep) => get(geos, keep(geos.GEOSMakeValid(keep(put(geos, shape))))));
}

/** A point that is certainly inside, found on the widest part of a middle scan line. */
export function pointOnSurface(polygon: Polygon): XY {
  return scope((geos, keep) => {
    const point = keep(geos.GEOSPointOnSurface(keep(put(geos, [polygon]))));
    const [x, y] = (geosGeomToGeojson(point, geos) as {coordinates: [number, number]}).coordinates;
    return {x, y};
  });
}

/**
 * The faces between lines: all lines are cut where they meet, then every enclosed area comes out as a polygon.
 *
 * Neighbouring faces share their vertices exactly, so any set of them is a valid coverage. Corners come out on a grid of
 * 2⁻²⁴ m (60 nm): lines that only just miss each other meet, and no two corners are a rounding error apart.
 */
export function facesBetween(lines: readonly (readonly XY[])[]): Polygon[] {
  return scope((geos, keep) => {
    const input = keep(
      geojsonToGeosGeom({type: "MultiLineString", coordinates: lines.map((line) => line.map(pair))}, geos),
    );
    const noded = keep(geos.GEOSUnaryUnionPrec(input, NODE_GRID_M));
    const array = geos.Module._malloc(4);
    geos.Module.HEAPU32[array / 4] = noded;
    const faces = keep(geos.GEOSPolygonize(array, 1));
    geos.Module._free(array);
    return get(geos, faces).map((polygon) => polygon.map(wind));
  });
}

/**
 * True when polygons tile without overlap, without unmatched vertices on shared edges and without gaps narrower
 * than `gapWidthM` (use at least one rounding unit: with 0 a 5 cm gap is not seen).
 */
export function coverageIsValid(parts: readonly Polygon[], gapWidthM: number): boolean {
  return scope((geos, keep) => {
    const geometries = parts.map((part) => put(geos, [part]));
    const array = geos.Module._malloc(4 * geometries.length);
    geos.Module.HEAPU32.set(geometries, array / 4);
    const collection = keep(geos.GEOSGeom_createCollection(7, array, geometries.length));
    geos.Module._free(array);
    const out = geos.Module._malloc(4);
    geos.Module.HEAPU32[out / 4] = 0;
    const answer = geos.GEOSCoverageIsValid(collection, gapWidthM, out);
    const edges = geos.Module.HEAPU32[out / 4] as number;
    if (edges) keep(edges);
    geos.Module._free(out);
    return answer === 1;
  });
}

/**
 * The polygons of a coverage with fewer corners: wiggles of shared borders up to about `toleranceM` go, the same on both
 * sides, so that neighbours stay matched (Visvalingam and Whyatt 1993). The outer border stays as it is.
 */
export function simplifyCoverage(parts: readonly Polygon[], toleranceM: number): MultiPolygon {
  return scope((geos, keep) => {
    const geometries = parts.map((part) => put(geos, [part]));
    const array = geos.Module._malloc(4 * geometries.length);
    geos.Module.HEAPU32.set(geometries, array / 4);
    const collection = keep(geos.GEOSGeom_createCollection(7, array, geometries.length));
    geos.Module._free(array);
    return get(geos, keep(geos.GEOSCoverageSimplifyVW(collection, toleranceM, 1)));
  });
}

// --- inside ---------------------------------------------------------------------------------------------------

type Pointer = number;
// biome-ignore lint/suspicious/noExplicitAny: the package types its 900 functions loosely; this file is the border.
type Geos = any;
let engine: Geos | undefined;

/** Runs with GEOS and frees every kept geometry afterwards, also when GEOS throws. */
function scope<T>(work: (geos: Geos, keep: (g: Pointer) => Pointer) => T): T {
  if (!engine) throw new Error("GEOS is not loaded: call loadGeos() once before running a stage");
  const kept: Pointer[] = [];
  try {
    return work(engine, (g) => {
      if (!g) throw new Error("GEOS returned no geometry");
      kept.push(g);
      return g;
    });
  } finally {
    for (const g of kept) engine.GEOSGeom_destroy(g);
  }
}

const pair = (p: XY): [number, number] => [p.x, p.y];

function put(geos: Geos, shape: MultiPolygon): Pointer {
  if (shape.length === 0) return geos.GEOSGeom_createEmptyPolygon();
  const coordinates = shape.map((polygon) => polygon.map((ring) => ring.map(pair)));
  return coordinates.length === 1
    ? geojsonToGeosGeom({type: "Polygon", coordinates: coordinates[0] as [number, number][][]}, geos)
    : geojsonToGeosGeom({type: "MultiPolygon", coordinates}, geos);
}

type Json = {type: string; coordinates?: unknown; geometries?: Json[]};

/** Polygons only: the points and lines an overlay may leave where shapes merely touch have no area. */
function get(geos: Geos, g: Pointer): MultiPolygon {
  if (geos.GEOSisEmpty(g) === 1) return [];
  return polygonsOf(geosGeomToGeojson(g, geos) as Json);
}

function polygonsOf(json: Json): Polygon[] {
  const toRings = (rings: number[][][]): Polygon =>
    rings.map((ring) => ring.map(([x, y]) => ({x: x as number, y: y as number}))).map(wind);
  if (json.type === "Polygon") {
    const rings = json.coordinates as number[][][];
    return rings.length > 0 ? [toRings(rings)] : [];
  }
  if (json.type === "MultiPolygon") return (json.coordinates as number[][][][]).map(toRings);
  if (json.type === "GeometryCollection") return (json.geometries ?? []).flatMap(polygonsOf);
  return [];
}

/** Corners of faces lie on a grid of this size, metres. A power of two, so that rounding to it is exact. */
export const NODE_GRID_M = 2 ** -24;

/** Outer ring counter-clockwise, holes clockwise. Measured from the ring's own corner: faces may be hair-thin. */
function wind(ring: Ring, index: number): Ring {
  return ringAreaM2(ring) > 0 === (index === 0) ? ring : [...ring].reverse();
}
