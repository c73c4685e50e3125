import {boxOf} from "../geo/measure.ts";
import type {MultiPolygon} from "../geo/shapes.ts";
import {METRES_PER_FOOT} from "../units/factors.ts";
import {formatNumber} from "../units/format.ts";
import {fieldMap, fitScale, type MapPart, type Scale} from "./field-map.ts";
import {type RampName, rampColour} from "./ramp.ts";

/** One strategy's map: its parts with a value each. */
export interface MapPanel {
  readonly title: string;
  readonly note: string;
  readonly parts: readonly {readonly shape: MultiPolygon; readonly value: number; readonly ring?: string}[];
}

const PANEL = {width: 360, height: 378, gap: 20, top: 74};

/**
 * The same field side by side, same scale and extent, one ramp over all, values written on the map.
 *
 * @param heading - As in "Phosphate, three ways".
 * @param legend - What the numbers are, as in "lb of 11-52-0 per acre".
 */
export function threeMaps(
  heading: string,
  legend: string,
  outline: MultiPolygon,
  panels: readonly MapPanel[],
  ramp: RampName = "rate",
): string {
  const values = panels.flatMap((panel) => panel.parts.map((part) => part.value));
  const most = Math.max(...values, 0);
  const least = Math.min(...values, 0);
  const width = panels.length * PANEL.width + (panels.length - 1) * PANEL.gap + 40;
  const height = PANEL.top + PANEL.height + 20;
  const scale = fitScale(boxOf(outline), PANEL.width, PANEL.height, 18);
  const maps = panels.map((panel, i) => {
    const parts: MapPart[] = panel.parts.map((part) => ({
      shape: part.shape,
      fill: rampColour(ramp, part.value, least, most),
      text: formatNumber(part.value),
      ...(part.ring === undefined ? {} : {ring: part.ring}),
    }));
    const x = 20 + i * (PANEL.width + PANEL.gap);
    return `<g transform="translate(${x} ${PANEL.top})">
<text y="-10" font-family="${SERIF}" font-weight="600" font-size="15">${escapeXml(panel.title)}</text>
<text x="${PANEL.width}" y="-10" text-anchor="end" font-size="12.5" fill="#5d676a">${escapeXml(panel.note)}</text>
<rect width="${PANEL.width}" height="${PANEL.height}" fill="#f3efe4" stroke="#1f2a2e"/>
${fieldMap(outline, parts, scale)}
${scaleBar(scale)}
${northArrow()}
</g>`;
  });
  return `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${width} ${height}" width="${width}" height="${height}" font-family="${SANS}" fill="#1f2a2e">
<rect width="100%" height="100%" fill="#fffdf8"/>
<text x="20" y="34" font-family="${SERIF}" font-weight="600" font-size="21">${escapeXml(heading)}</text>
${legendBar(legend, ramp, least, most, width - 20)}
${maps.join("\n")}
</svg>
`;
}

const SANS = "'Source Sans 3', 'Source Sans Pro', 'Segoe UI', Helvetica, Arial, sans-serif";
const SERIF = "'Source Serif 4', Georgia, 'Times New Roman', serif";

function legendBar(legend: string, ramp: RampName, least: number, most: number, right: number): string {
  const steps = 6;
  const boxes = Array.from({length: steps}, (_, i) => {
    const colour = rampColour(ramp, i, 0, steps - 1);
    return `<rect x="${right - 40 - (steps - i) * 28}" y="22" width="28" height="13" fill="${colour}" stroke="#1f2a2e" stroke-opacity="0.25"/>`;
  });
  const left = right - 40 - steps * 28 - 8;
  return `${boxes.join("")}
<text x="${right - 32}" y="33" font-size="13" fill="#5d676a">${formatNumber(most)}</text>
<text x="${left}" y="33" font-size="13" text-anchor="end" fill="#5d676a">${escapeXml(legend)}  ${formatNumber(least)}</text>`;
}

/** A round number of feet about a fifth of the panel long. */
function scaleBar(scale: Scale): string {
  const target = PANEL.width / 5 / scale.pixelsPerMetre / METRES_PER_FOOT;
  const power = 10 ** Math.floor(Math.log10(target));
  const feet = ([5, 2, 1].find((step) => step * power <= target) ?? 1) * power;
  const length = feet * METRES_PER_FOOT * scale.pixelsPerMetre;
  const y = PANEL.height - 12;
  return `<path d="M14 ${y - 4}v8M14 ${y}h${length.toFixed(1)}m0 -4v8" stroke="#1f2a2e" fill="none"/>
<text x="${(20 + length).toFixed(1)}" y="${y + 4}" font-size="12">${formatNumber(feet)} ft</text>`;
}

function northArrow(): string {
  const [x, y] = [PANEL.width - 16, PANEL.height - 24];
  return `<path d="M${x} ${y + 14}V${y}m-4 5l4 -5 4 5" stroke="#1f2a2e" fill="none"/><text x="${x}" y="${y - 4}" font-size="11" text-anchor="middle">N</text>`;
}

function escapeXml(text: string): string {
  return text.replace(/[&<>"]/g, (c) => ({"&": "&amp;", "<": "&lt;", ">": "&gt;", '"': "&quot;"})[c] as string);
}
