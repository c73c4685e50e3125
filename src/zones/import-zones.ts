import {FieldError, type Issue} from "../errors.ts";
import type {Field} from "../geo/field.ts";
import {toLonLat} from "../geo/frame.ts";
import {buffer, difference, invalidReason, makeValid, pointOnSurface} from "../geo/geos.ts";
import {insideTest} from "../geo/inside.ts";
import {areaM2, boxOf, polygonAreaM2} from "../geo/measure.ts";
import {dissolve, partition} from "../geo/partition.ts";
import type {MultiPolygon, Polygon, XY} from "../geo/shapes.ts";
import {snapLines} from "../geo/snap-lines.ts";
import {extendLabels} from "../grid/extend-labels.ts";
import {cellAt, type Grid} from "../grid/grid.ts";
import {traceArcs} from "../grid/trace-arcs.ts";
import {formatArea, formatNumber} from "../units/format.ts";
import {cellsOfShapes, describeZones} from "./describe-zones.ts";
import {cutZones, zonesOfFaces} from "./edit/cut-zones.ts";
import {explainedOfLayers} from "./edit/replay-edits.ts";
import type {Feature} from "./feature-matrix.ts";
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
/** Ground without a zone that is narrower than this everywhere goes to the zones beside it, metres. */
const NARROW_M = 30;
/** Less than this of overlap or gap is a matter of drawing and is not remarked on, square metres. */
const SLIGHT_M2 = 10;
const MOST_ZONES = 60;

/**
 * A zone map drawn elsewhere, made into a valid coverage of the field.
 *
 * Ground in two zones is in the one drawn later. Ground in none goes to the nearest zone where it is narrow, and is a zone
 * of its own ("Not drawn") where it is wider than 30 m. What lies outside the field is cut off. Borders stay where they
 * were drawn, but for those within 3 m of the field's boundary. Each is reported with its size and a place.
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
  const lines = snapLines(
    valid.flatMap(({shape}) => shape.flat()),
    field.outline,
    SNAP_M,
  );
  const first = partition(field.outline, lines);
  const claims = claimsOf(first.inside, valid, names);
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
  const wide = wideGaps(first, owners);
  const shapes = fillGaps(field, grid, [...shapesOf(first, owners, names.length), ...wide]);
  reportGaps(first, owners, wide, field, issues);

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
      options: {polygons: drawn.length, snapM: SNAP_M, narrowM: NARROW_M},
    },
  };
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

function shapesOf(
  division: {faces: readonly Polygon[]; inside: readonly XY[]},
  owners: Int32Array,
  count: number,
): MultiPolygon[] {
  const shapes: MultiPolygon[] = Array.from({length: count}, () => []);
  for (const {label, shape} of dissolve(division, owners)) if (label >= 0) shapes[label] = shape;
  return shapes;
}

/** Gaps, as one shape for each, that something wider than a strip fits in. */
function wideGaps(division: {faces: readonly Polygon[]; inside: readonly XY[]}, owners: Int32Array): MultiPolygon[] {
  const gaps = dissolve(division, owners).find(({label}) => label === -1)?.shape ?? [];
  return gaps.filter((gap) => buffer([gap], -NARROW_M / 2).length > 0).map((gap) => [gap]);
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

function reportOverlaps(
  faces: readonly Polygon[],
  claims: readonly (readonly number[])[],
  names: readonly string[],
  field: Field,
  issues: Issue[],
): void {
  const pairs = new Map<string, {area: number; largest: number; face: Polygon; over: readonly number[]}>();
  claims.forEach((own, i) => {
    if (own.length < 2) return;
    const face = faces[i] as Polygon;
    const area = polygonAreaM2(face);
    const key = own.join(" ");
    const known = pairs.get(key);
    pairs.set(key, {
      area: area + (known?.area ?? 0),
      largest: Math.max(area, known?.largest ?? 0),
      face: known && known.largest >= area ? known.face : face,
      over: own,
    });
  });
  for (const {area, face, over} of pairs.values()) {
    if (area < SLIGHT_M2) continue;
    const [upper, lower] = [names[over.at(-1) as number], names[over.at(-2) as number]];
    issues.push({
      code: "zones/import-overlap",
      severity: "warning",
      message: `Zones "${lower}" and "${upper}" overlap on ${formatArea(area, "us", 2)}; it went to "${upper}", which is drawn over the other.`,
      place: placeAt(field, pointOnSurface(face)),
    });
  }
}

function reportGaps(
  division: {faces: readonly Polygon[]; inside: readonly XY[]},
  owners: Int32Array,
  wide: readonly MultiPolygon[],
  field: Field,
  issues: Issue[],
): void {
  const gaps = dissolve(division, owners).find(({label}) => label === -1)?.shape ?? [];
  const own = new Set(wide.map(([gap]) => gap as Polygon));
  const narrow = areaM2(gaps) - areaM2(wide.flat());
  const [largest] = gaps.filter(
    (gap) => !wide.some(([other]) => polygonAreaM2(other as Polygon) === polygonAreaM2(gap)),
  );
  if (narrow >= SLIGHT_M2 && largest) {
    issues.push({
      code: "zones/import-gap",
      severity: narrow > 0.02 * field.area ? "warning" : "note",
      message: `${formatArea(narrow, "us", 2)} of the field lie in no zone, in strips under ${NARROW_M} m; they went to the nearest zones.`,
      place: placeAt(field, pointOnSurface(largest)),
    });
  }
  for (const gap of own) {
    issues.push({
      code: "zones/import-not-drawn",
      severity: "warning",
      message: `${formatArea(polygonAreaM2(gap))} of the field lie in no zone and became a zone of their own, "Not drawn".`,
      place: placeAt(field, pointOnSurface(gap)),
      hint: "Merge it into a neighbour with an edit, or complete the map.",
    });
  }
}

function reportOutside(drawn: readonly ForeignZone[], field: Field, issues: Issue[]): void {
  for (const {name, shape} of drawn) {
    const outside = areaM2(difference(shape, field.outline));
    if (outside < Math.max(SLIGHT_M2, 0.01 * areaM2(shape))) continue;
    issues.push({
      code: "zones/import-outside",
      severity: "note",
      message: `${formatArea(outside, "us", 2)} of zone "${name}" lie outside the field and were cut off.`,
    });
  }
}

function placeAt(field: Field, point: XY): {lon: number; lat: number} {
  const [lon, lat] = toLonLat(field.frame, point);
  return {lon, lat};
}
