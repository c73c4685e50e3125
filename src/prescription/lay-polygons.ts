import {simplifyCoverage} from "../geo/geos.ts";
import {areaM2} from "../geo/measure.ts";
import {dissolve} from "../geo/partition.ts";
import type {Polygon} from "../geo/shapes.ts";
import {type SquareMetres, squareMetres} from "../units/quantity.ts";
import {divideGround, type Piece} from "./divide-ground.ts";
import {type MergedRates, type MergeOptions, mergeRates} from "./merge-rates.ts";
import type {RatedGround} from "./rated-ground.ts";
import type {Setback} from "./setback.ts";

/** A polygon of the machine's file with the ground it is made of. */
export interface LaidPolygon {
  readonly id: string;
  readonly polygon: Polygon;
  readonly area: SquareMetres;
  /** Indices of pieces. */
  readonly pieces: readonly number[];
  /** Index of the unit or setback it is named for, and which of the two. */
  readonly rates: readonly number[];
}

export interface Layout {
  readonly pieces: readonly Piece[];
  /** Rates of each piece before and after merging, for each product. */
  readonly before: readonly (readonly number[])[];
  readonly after: readonly (readonly number[])[];
  readonly polygons: readonly LaidPolygon[];
  readonly merged: MergedRates;
  /** Id of the polygon of each piece. */
  readonly polygonOf: readonly string[];
  readonly left: readonly string[];
}

export interface LayoutInput {
  readonly ground: readonly RatedGround[];
  readonly setbacks: readonly Setback[];
  /** Ids for their polygons. */
  readonly names: readonly string[];
  readonly merge: MergeOptions | undefined;
  /** Rate of a product on a ground, in a set of setbacks. */
  readonly rateOf: (product: number, piece: Piece) => number;
  readonly products: number;
  readonly toMachine: (product: number, lbPerAcre: number) => number;
}

/** Ground cut along setbacks, rated, merged, and put together to polygons in the order of ground. */
export function layPolygons(input: LayoutInput): Layout {
  const {ground, setbacks, names, merge, rateOf, products, toMachine} = input;
  const pieces = divideGround(ground, setbacks);
  const before = pieces.map((piece) => Array.from({length: products}, (_, p) => rateOf(p, piece)));
  const asIs = setbacks.length === 0 && !merge;
  const merged = asIs
    ? {groupOf: [...pieces.keys()], rates: before, close: 0, small: 0, left: []}
    : mergeRates(
        pieces.map(({polygon, area, setbacks: inside}, i) => ({
          polygon,
          area,
          rates: before[i] as number[],
          held: inside.length > 0,
        })),
        merge,
        toMachine,
      );
  const after = pieces.map((_, i) => merged.rates[merged.groupOf[i] as number] as number[]);
  const polygons = namePolygons(ground, names, pieces, merged, asIs);
  const polygonOf = new Array<string>(pieces.length);
  for (const {id, pieces: members} of polygons) for (const piece of members) polygonOf[piece] ??= id;
  const left = polygons.filter(({pieces: [first = 0]}) => merged.left.includes(merged.groupOf[first] as number));
  return {pieces, before, after, polygons, merged, polygonOf, left: left.map(({id}) => id)};
}

/**
 * Each group's polygon, named after the ground of its largest piece or after its setback, without two names alike.
 */
function namePolygons(
  ground: readonly RatedGround[],
  names: readonly string[],
  pieces: readonly Piece[],
  {groupOf, rates}: MergedRates,
  asIs: boolean,
): LaidPolygon[] {
  const members = rates.map((): number[] => []);
  groupOf.forEach((group, piece) => void members[group]?.push(piece));
  const laid = members.flatMap((own, group) => {
    const lead = own.reduce((best, i) => (areaAt(pieces, i) > areaAt(pieces, best) ? i : best));
    const shapes = asIs
      ? own.map((i) => (pieces[i] as Piece).polygon)
      : (dissolve(
          {faces: own.map((i) => (pieces[i] as Piece).polygon), inside: []},
          own.map(() => 0),
        )[0]?.shape ?? []);
    const area = own.reduce((sum, i) => sum + areaAt(pieces, i), 0);
    const planar = areaM2(shapes);
    return shapes.map((polygon) => ({
      lead,
      polygon,
      area: shapes.length === 1 ? area : (area * areaM2([polygon])) / planar,
      pieces: own,
      rates: rates[group] as readonly number[],
    }));
  });
  const taken = new Set(ground.map(({id}) => id));
  const used = new Set<string>();
  const next = new Map<string, number>();
  return laid
    .sort((a, b) => a.lead - b.lead)
    .map(({lead, polygon, area, pieces: own, rates: each}) => {
      const {ground: g, setbacks} = pieces[lead] as Piece;
      const base = setbacks.length > 0 ? (names[setbacks[0] as number] as string) : (ground[g] as RatedGround).id;
      let id = base;
      if (used.has(base) || (setbacks.length > 0 && taken.has(base))) {
        let suffix = next.get(base) ?? 2;
        while (taken.has(`${base}-${suffix}`)) suffix++;
        id = `${base}-${suffix}`;
        next.set(base, suffix + 1);
        taken.add(id);
      }
      used.add(id);
      return {id, polygon, area: squareMetres(area), pieces: own, rates: each};
    });
}

const areaAt = (pieces: readonly Piece[], i: number): number => (pieces[i] as Piece).area;

/** Corners of all polygons. */
export function vertexCount(polygons: readonly {readonly polygon: Polygon}[]): number {
  return polygons.reduce((sum, {polygon}) => sum + polygon.reduce((own, ring) => own + ring.length - 1, 0), 0);
}

/**
 * The same ground with simpler inner borders. Areas follow the outlines; together they stay what they were.
 */
export function simplifyGround(ground: readonly RatedGround[], toleranceM: number): RatedGround[] {
  const parts = ground.flatMap(({shape}) => shape);
  const simple = simplifyCoverage(parts, toleranceM);
  if (simple.length !== parts.length) throw new Error("a simplified coverage lost a part");
  let at = 0;
  const redrawn = ground.map((one) => {
    const shape = simple.slice(at, at + one.shape.length);
    at += one.shape.length;
    return {...one, shape, area: squareMetres((one.area * areaM2(shape)) / areaM2(one.shape))};
  });
  const sum = (list: readonly RatedGround[]): number => list.reduce((total, {area}) => total + area, 0);
  const scale = sum(ground) / sum(redrawn);
  return redrawn.map((one) => ({...one, area: squareMetres(one.area * scale)}));
}
