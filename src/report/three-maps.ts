import {boxOf} from "../geo/measure.ts";
import type {MultiPolygon} from "../geo/shapes.ts";
import {formatNumber} from "../units/format.ts";
import {escapeXml} from "./escape-xml.ts";
import {fieldMap, fitScale, HATCHES, type MapPart} from "./field-map.ts";
import {type RampName, rampColour} from "./ramp.ts";
import {northArrow, scaleBar} from "./scale-and-north.ts";

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
      ...(ramp === "rate" && part.value === 0 ? {hatch: "zero" as const} : {}),
    }));
    const x = 20 + i * (PANEL.width + PANEL.gap);
    return `<g transform="translate(${x} ${PANEL.top})">
<text y="-10" font-family="${SERIF}" font-weight="600" font-size="15">${escapeXml(panel.title)}</text>
<text x="${PANEL.width}" y="-10" text-anchor="end" font-size="12.5" fill="#5d676a">${escapeXml(panel.note)}</text>
<rect width="${PANEL.width}" height="${PANEL.height}" fill="#f3efe4" stroke="#1f2a2e"/>
${fieldMap(outline, parts, scale)}
${scaleBar(scale, PANEL.width, PANEL.height)}
${northArrow(PANEL.width, PANEL.height)}
</g>`;
  });
  return `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${width} ${height}" width="${width}" height="${height}" font-family="${SANS}" fill="#1f2a2e">
${HATCHES}
<rect width="100%" height="100%" fill="#fffdf8"/>
<text x="20" y="34" font-family="${SERIF}" font-weight="600" font-size="21">${escapeXml(heading)}</text>
${legendBar(legend, ramp, least, most, width - 20)}
${maps.join("\n")}
</svg>
`;
}

export const SANS = "'Source Sans 3', 'Source Sans Pro', 'Segoe UI', Helvetica, Arial, sans-serif";
export const SERIF = "'Source Serif 4', Georgia, 'Times New Roman', serif";

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
