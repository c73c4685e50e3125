import {difference, intersection, union} from "../../geo/geos.ts";
import {areaM2, boxOf} from "../../geo/measure.ts";
import type {Box, MultiPolygon} from "../../geo/shapes.ts";
import type {AppliedPolygon} from "./applied-log.ts";

/** Ground with one sum of rates; `extraLbPerAcre` is the part that fell after the first time. */
export interface SummedGround {
  readonly shape: MultiPolygon;
  readonly lbPerAcre: number;
  readonly extraLbPerAcre: number;
}

/** Shared ground under this is a common border, not an overlap. */
const LEAST_SHARED_M2 = 1e-4;

/**
 * Takes shapes that may share ground apart into shapes that do not, with rates added up where they did.
 *
 * One shape after another is laid down, in their order: the part on ground already there adds to it, the rest is new.
 * Exact for any number of layers.
 */
export function splitOverlaps(pieces: readonly AppliedPolygon[]): SummedGround[] {
  const laid: {box: Box; ground: SummedGround}[] = [];
  for (const {shape, rateLbPerAcre} of pieces) {
    const box = boxOf(shape);
    const parts: SummedGround[] = [];
    const shared: MultiPolygon[] = [];
    for (const [i, under] of laid.entries()) {
      if (!meet(box, under.box)) continue;
      const both = intersection(shape, under.ground.shape);
      if (areaM2(both) < LEAST_SHARED_M2) continue;
      const {lbPerAcre, extraLbPerAcre} = under.ground;
      parts.push({
        shape: both,
        lbPerAcre: lbPerAcre + rateLbPerAcre,
        extraLbPerAcre: extraLbPerAcre + rateLbPerAcre,
      });
      shared.push(both);
      laid[i] = placed({...under.ground, shape: difference(under.ground.shape, both)});
    }
    const rest = shared.length > 0 ? difference(shape, union(shared)) : shape;
    if (rest.length > 0) parts.push({shape: rest, lbPerAcre: rateLbPerAcre, extraLbPerAcre: 0});
    laid.push(...parts.map(placed));
  }
  return laid.map(({ground}) => ground).filter(({shape}) => shape.length > 0);
}

const placed = (ground: SummedGround): {box: Box; ground: SummedGround} => ({box: boxOf(ground.shape), ground});

const meet = (a: Box, b: Box): boolean => a.west < b.east && b.west < a.east && a.south < b.north && b.south < a.north;
