import {FieldError, type Issue} from "../errors.ts";
import type {Field} from "../geo/field.ts";
import {buffer, difference, makeValid, pointOnSurface, union} from "../geo/geos.ts";
import {areaM2, boxOf, contains, distanceM} from "../geo/measure.ts";
import {mergeSmallFaces} from "../geo/merge-faces.ts";
import {nearestOnRings, nearestPointIn} from "../geo/nearest.ts";
import {runningAngle} from "../geo/oriented-box.ts";
import {dissolve, partition} from "../geo/partition.ts";
import type {MultiPolygon, XY} from "../geo/shapes.ts";
import {formatArea, formatLength} from "../units/format.ts";
import {makePlan, type UnitDraft} from "./make-plan.ts";
import {type PlanOptions, resolveOptions} from "./options.ts";
import type {SamplingPlan, Strategy} from "./plan.ts";

/** A unit as it was sampled before, in the field's frame. */
export interface EarlierUnit {
  readonly id: string;
  readonly label: string;
  readonly shape: MultiPolygon;
  readonly zone?: number | undefined;
  /** In the order they were walked. */
  readonly cores: readonly XY[];
}

export interface RepeatOptions extends PlanOptions {
  /** As it was then. */
  readonly pooled?: boolean | undefined;
}

/**
 * The plan of an earlier cycle again: same ids, same places, so that change is change of the soil and not of the place
 * (University of Illinois Extension asks for the same points each cycle).
 *
 * A core moves only when its place is now in a keep-out or outside its unit, to the nearest place that is not, and the
 * plan says so. Distances from edges are not asked again. Where the boundary has changed, new ground goes to the
 * unit beside it with the longest border and lost ground is lost; units that lost all of theirs are left out.
 *
 * @throws {FieldError} `sampling/repeat` when no earlier unit lies in the field or two share an id, and those of the
 *   common options.
 */
export function repeatPlan(
  field: Field,
  strategy: Strategy,
  earlier: readonly EarlierUnit[],
  options: RepeatOptions = {},
): SamplingPlan {
  const settings = resolveOptions(field, options, Math.max(1, ...earlier.map(({cores}) => cores.length)));
  const shapes = recut(field, earlier);
  const out = settings.keepOut.length > 0 ? union(settings.keepOut.map((polygon) => makeValid([polygon]))) : [];
  const moves: string[] = [];
  const units = earlier.flatMap((unit, i): UnitDraft[] => {
    const shape = shapes[i] ?? [];
    if (shape.length === 0) return [];
    const legal = out.length > 0 ? difference(shape, out) : shape;
    const cores = legal.length === 0 ? [] : unit.cores.map((core) => placeAgain(legal, core));
    const far = Math.max(0, ...cores.map((core, k) => distanceM(core, unit.cores[k] as XY)));
    const count = cores.filter((core, k) => distanceM(core, unit.cores[k] as XY) > 0).length;
    if (count > 0) moves.push(`${unit.id} ${count} of ${cores.length}, up to ${formatLength(far)}`);
    return [
      {
        label: unit.label,
        shape,
        ...(unit.zone !== undefined && {zone: unit.zone}),
        kept: {id: unit.id, cores},
      },
    ];
  });
  return makePlan(
    field,
    {
      strategy,
      units,
      pooled: options.pooled ?? strategy === "whole-field",
      angle: runningAngle(field.outline),
      issues: remarks(earlier, units, shapes, moves),
      inputs: [field.id, "an earlier plan"],
      options: {repeated: earlier.length, pooled: options.pooled ?? strategy === "whole-field"},
    },
    settings,
  );
}

// --- inside ---------------------------------------------------------------------------------------------------

/** Pieces under this are the error of two outlines. */
const SPECK_M2 = 1;
/** Outer borders this near to the field's edge are that edge. */
const SAME_EDGE_M = 0.5;
/** A change of a unit's ground that is worth telling. */
const CHANGED = 0.01;

/** The earlier units cut from the field as it is now: every acre in one of them. */
function recut(field: Field, earlier: readonly EarlierUnit[]): MultiPolygon[] {
  if (new Set(earlier.map(({id}) => id)).size < earlier.length) {
    throw new FieldError("sampling/repeat", "Two units of the earlier plan have one id.", {
      hint: "Give the units file of one plan.",
    });
  }
  const division = partition(field.outline, bordersToDraw(field.outline, earlier));
  const boxes = earlier.map(({shape}) => boxOf(shape));
  const homes = division.inside.map(({x, y}) =>
    earlier.findIndex(({shape}, i) => {
      const box = boxes[i] as (typeof boxes)[number];
      return x >= box.west && x <= box.east && y >= box.south && y <= box.north && contains(shape, x, y);
    }),
  );
  if (homes.every((home) => home < 0)) {
    throw new FieldError("sampling/repeat", `No unit of the earlier plan lies in ${field.name}.`, {
      hint: "Give the units file of a plan of this field.",
    });
  }
  const {leader} = mergeSmallFaces(division, SPECK_M2);
  // Ground that no unit had goes to the unit it is joined to by the longest border, largest ground first.
  const labels = leader.map((face) => homes[face] as number);
  const parts = dissolve(division, labels);
  const orphans = parts.find(({label}) => label < 0)?.shape ?? [];
  if (orphans.length > 0) adopt(division.faces, labels);
  const byUnit = new Map(dissolve(division, labels).map(({label, shape}) => [label, shape]));
  return earlier.map((_, i) => byUnit.get(i) ?? []);
}

/**
 * The borders between earlier units, and their outer ones where the field's edge is no longer there. Files round
 * coordinates, so ends that nearly meet the edge are led to it and a hair beyond.
 */
function bordersToDraw(outline: MultiPolygon, earlier: readonly EarlierUnit[]): XY[][] {
  const edges = new Map<string, [XY, XY]>();
  const key = (a: XY, b: XY): string => `${a.x},${a.y};${b.x},${b.y}`;
  const shared: [XY, XY][] = [];
  for (const ring of earlier.flatMap(({shape}) => shape.flat())) {
    ring.slice(1).forEach((to, k) => {
      const from = ring[k] as XY;
      const twin = edges.get(key(to, from));
      if (!twin) {
        edges.set(key(from, to), [from, to]);
        return;
      }
      edges.delete(key(to, from));
      shared.push(twin);
    });
  }
  const edge = outline.flat();
  const isNear = (p: XY): boolean => distanceM(p, nearestOnRings(edge, p)) < SAME_EDGE_M;
  const outer = [...edges.values()].filter(
    ([from, to]) => !(isNear(from) && isNear(to) && isNear({x: (from.x + to.x) / 2, y: (from.y + to.y) / 2})),
  );
  const drawn = [...shared, ...outer];
  const joints = drawn.flat().flatMap((end) => {
    const on = nearestOnRings(edge, end);
    const distance = distanceM(end, on);
    if (distance === 0 || distance >= SAME_EDGE_M) return [];
    const beyond = (distance + HAIR_M) / distance;
    return [[end, {x: end.x + (on.x - end.x) * beyond, y: end.y + (on.y - end.y) * beyond}]];
  });
  return [...drawn, ...joints];
}

const HAIR_M = 0.001;

/** Gives faces without a unit to a neighbour, by the longest border; those without neighbours to the nearest face. */
function adopt(faces: readonly (readonly (readonly XY[])[])[], labels: number[]): void {
  const edges = new Map<string, number>();
  faces.forEach((face, i) => {
    for (const ring of face) {
      ring.slice(1).forEach((to, k) => {
        const from = ring[k] as XY;
        edges.set(`${from.x},${from.y};${to.x},${to.y}`, i);
      });
    }
  });
  for (let changed = true; changed; ) {
    changed = false;
    faces.forEach((face, i) => {
      if ((labels[i] as number) >= 0) return;
      const borders = new Map<number, number>();
      for (const ring of face) {
        ring.slice(1).forEach((to, k) => {
          const from = ring[k] as XY;
          const other = edges.get(`${to.x},${to.y};${from.x},${from.y}`);
          const label = other === undefined ? -1 : (labels[other] as number);
          if (label >= 0) borders.set(label, (borders.get(label) ?? 0) + distanceM(from, to));
        });
      }
      const [best] = [...borders].sort(([a, x], [b, y]) => y - x || a - b);
      if (!best) return;
      labels[i] = best[0];
      changed = true;
    });
  }
  labels.forEach((label, i) => {
    if (label >= 0) return;
    const at = faces[i]?.[0]?.[0] as XY;
    let least = Infinity;
    faces.forEach((face, j) => {
      const distance = distanceM(at, face[0]?.[0] as XY);
      if ((labels[j] as number) < 0 || distance >= least) return;
      least = distance;
      labels[i] = labels[j] as number;
    });
  });
}

/** The place itself, or the nearest at least a foot inside legal ground. */
function placeAgain(legal: MultiPolygon, core: XY): XY {
  if (contains(legal, core.x, core.y)) return {x: core.x, y: core.y};
  const inner = buffer(legal, -STEP_IN_M);
  return inner.length > 0 ? nearestPointIn(inner, core) : pointOnSurface(legal[0] as MultiPolygon[number]);
}

const STEP_IN_M = 0.3048;

function remarks(
  earlier: readonly EarlierUnit[],
  units: readonly UnitDraft[],
  shapes: readonly MultiPolygon[],
  moves: readonly string[],
): Issue[] {
  const gone = earlier.filter((_, i) => (shapes[i] ?? []).length === 0);
  const changed = earlier.flatMap(({id, shape}, i) => {
    const [before, now] = [areaM2(shape), areaM2(shapes[i] ?? [])];
    return now > 0 && Math.abs(now / before - 1) > CHANGED ? [`${id} ${formatArea(before)} to ${formatArea(now)}`] : [];
  });
  const issues: Issue[] = [
    {
      code: "sampling/repeated",
      severity: "note",
      message: `${units.length} units of an earlier plan are sampled again, with the same ids, at the same places.`,
    },
  ];
  if (moves.length > 0) {
    issues.push({
      code: "sampling/core-moved",
      severity: "warning",
      message: `Cores whose place is now in a keep-out or outside its unit were moved: ${moves.join("; ")}.`,
      hint: "Do not read change there as change of the soil.",
    });
  }
  if (changed.length > 0) {
    issues.push({
      code: "sampling/unit-changed",
      severity: "warning",
      message: `With the boundary units have changed: ${changed.join(", ")}.`,
      hint: "Compare their results with the last cycle's with care.",
    });
  }
  if (gone.length > 0) {
    issues.push({
      code: "sampling/unit-gone",
      severity: "warning",
      message: `Outside the field now and left out: ${gone.map(({id}) => id).join(", ")}.`,
      hint: "Check that it is this year's boundary.",
    });
  }
  return issues;
}
