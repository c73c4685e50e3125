import {METRES_PER_FOOT} from "../units/factors.ts";
import {formatNumber} from "../units/format.ts";
import type {Scale} from "./field-map.ts";

/** A bar of a round number of feet, about a fifth of the map's width, at its lower left. */
export function scaleBar(scale: Scale, width: number, height: number, fontSize = 12): string {
  const target = width / 5 / scale.pixelsPerMetre / METRES_PER_FOOT;
  const power = 10 ** Math.floor(Math.log10(target));
  const feet = ([5, 2, 1].find((step) => step * power <= target) ?? 1) * power;
  const length = feet * METRES_PER_FOOT * scale.pixelsPerMetre;
  const y = height - 12;
  return `<path d="M14 ${y - 4}v8M14 ${y}h${length.toFixed(1)}m0 -4v8" stroke="#1f2a2e" fill="none"/>
<text x="${(20 + length).toFixed(1)}" y="${y + 4}" font-size="${fontSize}">${formatNumber(feet)} ft</text>`;
}

/** North is up; the arrow says so at the lower right. */
export function northArrow(width: number, height: number): string {
  const [x, y] = [width - 16, height - 24];
  return `<path d="M${x} ${y + 14}V${y}m-4 5l4 -5 4 5" stroke="#1f2a2e" fill="none"/><text x="${x}" y="${y - 4}" font-size="11" text-anchor="middle">N</text>`;
}
