import {FieldError, type Issue} from "../errors.ts";
import type {Field} from "../geo/field.ts";
import {buffer, invalidReason, makeValid} from "../geo/geos.ts";
import {insideTest} from "../geo/inside.ts";
import {boxOf, polygonAreaM2} from "../geo/measure.ts";
import {dissolve, type Partition, partition} from "../geo/partition.ts";
import type {MultiPolygon, Polygon, XY} from "../geo/shapes.ts";
import {snapLines} from "../geo/snap-lines.ts";
import {extendLabels} from "../grid/extend-labels.ts";
import {cellAt, type Grid} from "../grid/grid.ts";
import {traceArcs} from "../grid/trace-arcs.ts";
import {formatNumber} from "../units/format.ts";
import {cellsOfShapes, describeZones} from "./describe-zones.ts";
import {cutZones, zonesOfFaces} from "./edit/cut-zones.ts";
import {explainedOfLayers} from "./edit/replay-edits.ts";
import type {Feature} from "./feature-matrix.ts";
import {type Gaps, NARROW_M, placeAt, reportGaps, reportOutside, reportOverlaps, SLIGHT_M2} from "./import-issues.ts";
import type {ZoneMap} from "./zone-map.ts";
import type {ZoneOptions} from "./zone-options.ts";

/** A polygon of a zone map drawn elsewhere, in the field's frame. */
export interface ForeignZone {
  /** Polygons of one name are one zone. */
  readonly name: string;
  readonly shape: MultiPolygon;
}

/** Borders that come this close to the field's boundary run on it, metres: what two drawings of one fence differ by. */
const SNAP_M = 3;
/** The same for a map whose own border is the field's: rounding only. */
const ROUNDING_M = 0.01;
const MOST_ZONES = 60;

/**
 * A zone map drawn elsewhere, made into a valid coverage of the field.
 *
 * Ground in two zones is in the one drawn later. Ground in none goes to the nearest zone where it is narrow, and is a zone
 * of its own ("Not drawn") where it is wider than 30 m. What lies outside the field is cut off. Borders stay where they
 * were drawn; only when the map does not end on the field's boundary, those within 3 m of it run on it. Each is reported with its size and a place.
 *
 * @param drawn - In order of the file. Zones are numbered by name when all names are numbers, else by first appearance.
 * @throws {FieldError} `zones/import-nothing` when none of it lies in the field, `zones/import-many` over 60 zones.
 *
 * Needs GEOS.
 */
export function importZones(
  {field, grid, features}: {field: Field; grid: Grid; features: readonly Feature[]},
  drawn: readonly ForeignZone[],
  options: ZoneOptions = {},
): ZoneMap {
  const issues: Issue[] = [];
  const valid = drawn.map((zone) => ({...zone, shape: repaired(zone, field, issues)}));
  const names = inOrder([...new Set(valid.map(({name}) => name))]);
  if (names.length > MOST_ZONES) {
    throw new FieldError("zones/import-many", `The map has ${formatNumber(names.length)} zones.`, {
      hint: `Give at most ${MOST_ZONES}; name the attribute that tells zones, not one that tells polygons.`,
    });
  }
  const {first, claims, snapM} = divided(field, valid, names);
  if (claims.every(({length}) => length === 0)) {
    throw new FieldError(
      "zones/import-nothing",
      `The zone map has no polygon in ${field.name}: all ${formatNumber(drawn.length)} lie elsewhere.`,
      {
        hint: "Check that the map is of this field, and its coordinate system.",
      },
    );
  }
  reportOverlaps(first.faces, claims, names, field, issues);
  reportOutside(valid, field, issues);

  const owners = Int32Array.from(claims, (own) => own.at(-1) ?? -1);
  const gaps = gapsOf(first, owners);
  const wide = gaps.wide.map((gap): MultiPolygon => [gap]);
  const shapes = fillGaps(field, grid, [...shapesOf(first, owners, names.length), ...wide]);
  reportGaps(gaps, field, issues);

  const kept = [...names, ...wide.map((_, i) => (i === 0 ? "Not drawn" : `Not drawn ${i + 1}`))]
    .map((name, i) => ({name, shape: shapes[i] as MultiPolygon}))
    .filter(({shape}) => shape.length > 0);
  const cells = cellsOfShapes(
    grid,
    field.outline,
    kept.map(({shape}) => shape),
  );
  const explained = explainedOfLayers({field, grid, features}, cells, options);
  return {
    grid,
    cells,
    zones: describeZones(
      kept.map(({shape}) => shape),
      cells,
      features,
      kept.map(({name}, i) => (name === String(i + 1) ? undefined : name)),
    ),
    varianceExplained: {clustered: explained, tidied: explained},
    issues,
    madeFrom: {
      step: "zones/import",
      inputs: features.map(({layer}) => layer.id),
      options: {polygons: drawn.length, snapM, narrowM: NARROW_M},
    },
  };
}

/** The field cut by the map's borders; these move to the boundary only in a map that does not end on it by itself. */
function divided(
  field: Field,
  zones: readonly ForeignZone[],
  names: readonly string[],
): {first: Partition; claims: number[][]; snapM: number} {
  const lines = zones.flatMap(({shape}) => shape.flat());
  const cut = (snapM: number) => {
    const first = partition(field.outline, snapLines(lines, field.outline, snapM));
    return {first, claims: claimsOf(first.inside, zones, names), snapM};
  };
  const exact = cut(ROUNDING_M);
  const unclaimed = exact.first.faces.reduce(
    (sum, face, i) => sum + (exact.claims[i]?.length === 0 ? polygonAreaM2(face) : 0),
    0,
  );
  return unclaimed < SLIGHT_M2 ? exact : cut(SNAP_M);
}

function repaired({name, shape}: ForeignZone, field: Field, issues: Issue[]): MultiPolygon {
  const bad = invalidReason(shape);
  if (!bad) return shape;
  issues.push({
    code: "zones/import-repaired",
    severity: "note",
    message: `A polygon of zone "${name}" crosses or touches itself and was put right.`,
    place: placeAt(field, bad.at),
  });
  return makeValid(shape);
}

/** By number when all are numbers, else as they came. */
function inOrder(names: readonly string[]): string[] {
  const numbers = names.map(Number);
  return numbers.every(Number.isFinite) && names.every((name) => name.trim() !== "")
    ? [...names].sort((a, b) => Number(a) - Number(b))
    : [...names];
}

/** Zones that each point is in, by index of their name, in the order they were drawn. */
function claimsOf(points: readonly XY[], drawn: readonly ForeignZone[], names: readonly string[]): number[][] {
  const tests = drawn.map(({name, shape}) => ({zone: names.indexOf(name), inside: insideTest(shape)}));
  return points.map(({x, y}) => {
    const found: number[] = [];
    for (const {zone, inside} of tests) if (inside(x, y) && found.at(-1) !== zone) found.push(zone);
    return found;
  });
}

function shapesOf(division: Partition, owners: Int32Array, count: number): MultiPolygon[] {
  const shapes: MultiPolygon[] = Array.from({length: count}, () => []);
  for (const {label, shape} of dissolve(division, owners)) if (label >= 0) shapes[label] = shape;
  return shapes;
}

/** Ground of no zone: strips, and what something wider than a strip fits in; the largest first. */
function gapsOf(division: Partition, owners: Int32Array): Gaps {
  const gaps = dissolve(division, owners).find(({label}) => label === -1)?.shape ?? [];
  const isWide = (gap: Polygon): boolean => buffer([gap], -NARROW_M / 2).length > 0;
  return {wide: gaps.filter(isWide), narrow: gaps.filter((gap) => !isWide(gap))};
}

/** Gives ground of no zone to the zone that is nearest, cut by lines half-way between zones. */
function fillGaps(field: Field, grid: Grid, shapes: readonly MultiPolygon[]): MultiPolygon[] {
  const labels = cellsOfShapes(grid, field.outline, shapes);
  const extended = extendLabels(grid, labels, boxOf(field.outline));
  const tests = shapes.map(insideTest);
  const isDrawn = ({x, y}: XY): boolean => tests.some((inside) => inside(x, y));
  const halfWay = traceArcs(extended.grid, extended.labels).flatMap(({points}) =>
    points.slice(1).flatMap((to, i) => {
      const from = points[i] as XY;
      return isDrawn(from) && isDrawn(to) ? [] : [[from, to]];
    }),
  );
  const {division, owner} = cutZones(field.outline, shapes, halfWay, 0);
  const filled = owner.map((own, face) => {
    if (own >= 0) return own;
    const {x, y} = division.inside[face] as XY;
    return (extended.labels[cellAt(extended.grid, x, y)] as number) - 1;
  });
  return zonesOfFaces(division, filled, shapes.length);
}
