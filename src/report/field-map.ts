import {pointOnSurface} from "../geo/geos.ts";
import {boxOf, centroid, contains, distanceToEdgeM} from "../geo/measure.ts";
import type {Box, MultiPolygon, Polygon, XY} from "../geo/shapes.ts";
import {inkOn} from "./ramp.ts";

/** One area on a map with what is written on it. */
export interface MapPart {
  readonly shape: MultiPolygon;
  readonly fill: string;
  readonly text: string;
  /** Zone number, drawn in a ring so that it is never mistaken for a value. */
  readonly ring?: string;
  /** Lines over the fill, for what must also be told apart in grey: nothing spread, or less than elsewhere. */
  readonly hatch?: "zero" | "less";
}

/** Sizes of what is written on a map, in its own units. */
export interface Lettering {
  readonly most: number;
  readonly least: number;
}

/** Metres of the field's frame to the paper of a map. */
export interface Scale {
  readonly pixelsPerMetre: number;
  readonly x: (x: number) => number;
  readonly y: (y: number) => number;
}

/** The largest north-up scale at which a box fits a frame of `width` by `height` with a margin, centred. */
export function fitScale(box: Box, width: number, height: number, margin: number): Scale {
  const pixelsPerMetre = Math.min(
    (width - 2 * margin) / (box.east - box.west),
    (height - 2 * margin) / (box.north - box.south),
  );
  const left = (width - (box.east - box.west) * pixelsPerMetre) / 2;
  const top = (height - (box.north - box.south) * pixelsPerMetre) / 2;
  return {
    pixelsPerMetre,
    x: (x) => left + (x - box.west) * pixelsPerMetre,
    y: (y) => top + (box.north - y) * pixelsPerMetre,
  };
}

/** SVG of a field's parts with their values written on them: colour is never the only carrier. */
export function fieldMap(
  outline: MultiPolygon,
  parts: readonly MapPart[],
  scale: Scale,
  lettering: Lettering = {most: 12, least: 6.5},
): string {
  const areas = parts
    .map((part) => {
      const path = pathOf(part.shape, scale);
      const lines = part.hatch ? `<path d="${path}" fill="url(#hatch-${part.hatch})"/>` : "";
      return `<path d="${path}" fill="${part.fill}" stroke="#fffdf8" stroke-width="1"/>${lines}`;
    })
    .join("\n");
  const texts = parts.flatMap((part) => labelOf(part, scale, lettering)).join("\n");
  const border = `<path d="${pathOf(outline, scale)}" fill="none" stroke="#1f2a2e" stroke-width="1.5" stroke-linejoin="round"/>`;
  return `<g fill-rule="evenodd">\n${areas}\n</g>\n${border}\n<g text-anchor="middle" font-weight="600">\n${texts}\n</g>`;
}

export function pathOf(shape: MultiPolygon, scale: Scale): string {
  const point = (p: XY): string => `${scale.x(p.x).toFixed(1)} ${scale.y(p.y).toFixed(1)}`;
  return shape
    .flat()
    .map((ring) => `M${ring.slice(0, -1).map(point).join("L")}Z`)
    .join("");
}

/** Patterns the hatches refer to; once in every picture that uses them. */
export const HATCHES = `<defs>
<pattern id="hatch-zero" width="7" height="7" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><path d="M0 0V7" stroke="#5d676a" stroke-opacity="0.45" stroke-width="1"/></pattern>
<pattern id="hatch-less" width="5" height="5" patternUnits="userSpaceOnUse" patternTransform="rotate(-45)"><path d="M0 0V5" stroke="#1f2a2e" stroke-opacity="0.4" stroke-width="1"/></pattern>
</defs>`;

/** Every piece that has the room carries the text; a part all of whose pieces are narrow carries it once, small, on a halo. */
function labelOf(part: MapPart, scale: Scale, {most, least}: Lettering): string[] {
  if (part.text === "") return [];
  const letters = part.text.length + (part.ring ? 4 : 0);
  const places = part.shape.map((polygon) => {
    const at = roomiestPoint(polygon);
    const room = 2 * distanceToEdgeM([polygon], at) * scale.pixelsPerMetre;
    return {at, room, size: Math.min(most, room / (0.56 * Math.max(2, letters)))};
  });
  const roomy = places.filter(({size}) => size >= least);
  if (roomy.length > 0) {
    // Where only the ring fits it stands alone: its zone's value is written elsewhere.
    const narrow = places.filter(({size, room}) => part.ring !== undefined && size < least && room > 2 * least);
    return [
      ...roomy.flatMap(({at, size}) => textAt(part, at, size, scale, false)),
      ...narrow.flatMap(({at}) => ringAt(part.ring ?? "", scale.x(at.x), scale.y(at.y), least)),
    ];
  }
  const [widest] = places.sort((a, b) => b.size - a.size);
  return widest && widest.size > least / 4 ? textAt(part, widest.at, least, scale, true) : [];
}

function textAt({fill, text, ring}: MapPart, at: XY, size: number, scale: Scale, halo: boolean): string[] {
  const [x, y] = [scale.x(at.x), scale.y(at.y)];
  const ink = inkOn(fill);
  const around = halo ? ` stroke="${fill}" stroke-width="3" stroke-linejoin="round" paint-order="stroke"` : "";
  const attributes = `font-size="${size.toFixed(1)}" fill="${ink}"${around}`;
  const base = (y + size * 0.36).toFixed(1);
  if (ring === undefined) return [`<text x="${x.toFixed(1)}" y="${base}" ${attributes}>${text}</text>`];
  return [
    ...ringAt(ring, x - size * 1.2, y, size),
    `<text x="${(x + size * 0.9).toFixed(1)}" y="${base}" ${attributes}>${text}</text>`,
  ];
}

function ringAt(ring: string, x: number, y: number, size: number): string[] {
  return [
    `<circle cx="${x.toFixed(1)}" cy="${y.toFixed(1)}" r="${(size * 0.8).toFixed(1)}" fill="#fffdf8" stroke="#1f2a2e"/>`,
    `<text x="${x.toFixed(1)}" y="${(y + size * 0.36).toFixed(1)}" font-size="${size.toFixed(1)}" fill="#1f2a2e">${ring}</text>`,
  ];
}

/** Somewhere with much room around it: the best of the centre, a surely inner point and a coarse net. */
function roomiestPoint(polygon: Polygon): XY {
  const shape = [polygon];
  const box = boxOf(shape);
  const net: XY[] = [centroid(shape), pointOnSurface(polygon)];
  const steps = 15;
  for (let i = 1; i < steps; i++) {
    for (let j = 1; j < steps; j++) {
      net.push({
        x: box.west + ((box.east - box.west) * i) / steps,
        y: box.south + ((box.north - box.south) * j) / steps,
      });
    }
  }
  let best = net[1] as XY;
  let bestRoom = distanceToEdgeM(shape, best);
  for (const p of net) {
    if (!contains(shape, p.x, p.y)) continue;
    // A little more room is not worth leaving the centre for.
    const room = distanceToEdgeM(shape, p);
    if (room > bestRoom * 1.05) {
      best = p;
      bestRoom = room;
    }
  }
  return best;
}
