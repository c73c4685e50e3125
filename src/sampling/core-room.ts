import {buffer, difference, intersection, makeValid, union} from "../geo/geos.ts";
import {areaM2} from "../geo/measure.ts";
import type {MultiPolygon} from "../geo/shapes.ts";

/** Where the cores of one unit may go. */
export interface CoreRoom {
  /** Empty when there is none. */
  readonly shape: MultiPolygon;
  /** Distance kept from the unit's own edge, metres. */
  readonly edgeM: number;
  /** Share of the distances asked for that was kept: 1, ½, ¼ … */
  readonly kept: number;
  /** Area of the unit inside keep-outs, square metres. */
  readonly keptOutM2: number;
}

/**
 * Prepares the question where cores may go in a unit: inside it by `edgeM`, inside the field by `fieldEdgeM` (also
 * from holes), outside keep-outs. Both distances are halved, down to 1 ft, as long as they leave less than a third of
 * the unit: in a narrow unit the cores would bunch in its widest spot. Keep-outs never give way.
 */
export function coreRoomsOf(
  outline: MultiPolygon,
  edgeM: number,
  fieldEdgeM: number,
  keepOut: MultiPolygon,
): (unit: MultiPolygon) => CoreRoom {
  const out = union(keepOut.map((polygon) => makeValid([polygon])));
  const legalByShare = new Map<number, MultiPolygon>();
  const legal = (kept: number): MultiPolygon => {
    let shape = legalByShare.get(kept);
    if (!shape) {
      shape = fieldEdgeM > 0 ? buffer(outline, -fieldEdgeM * kept) : outline;
      if (out.length > 0) shape = difference(shape, out);
      legalByShare.set(kept, shape);
    }
    return shape;
  };

  return (unit) => {
    const keptOutM2 = out.length > 0 ? areaM2(intersection(unit, out)) : 0;
    const enough = ENOUGH * (areaM2(unit) - keptOutM2);
    let best: CoreRoom = {shape: [], edgeM: 0, kept: 0, keptOutM2};
    for (let kept = 1; kept === 1 || Math.max(edgeM, fieldEdgeM) * kept >= LEAST_EDGE_M; kept /= 2) {
      const inner = edgeM > 0 ? buffer(unit, -edgeM * kept) : unit;
      const shape = intersection(inner, legal(kept));
      const area = areaM2(shape);
      if (area >= LEAST_ROOM_M2) best = {shape, edgeM: edgeM * kept, kept, keptOutM2};
      if (area >= enough) break;
    }
    return best;
  };
}

const ENOUGH = 1 / 3;
/** One foot: nearer to an edge than that, a probe may as well be across it. */
const LEAST_EDGE_M = 0.3048;
/** Less room than a square metre is no room to walk in. */
const LEAST_ROOM_M2 = 1;
