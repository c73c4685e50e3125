import type {DifferenceMap} from "../compare/difference-map.ts";
import {boxOf} from "../geo/measure.ts";
import type {MultiPolygon} from "../geo/shapes.ts";
import type {BuiltPrescription} from "../prescription/prescription.ts";
import {formatNumber} from "../units/format.ts";
import {escapeXml} from "./escape-xml.ts";
import {fieldMap, fitScale, HATCHES, type MapPart} from "./field-map.ts";
import {differenceColour, RAMPS, rampColour} from "./ramp.ts";
import type {ReportModel, ReportStrategy} from "./report-model.ts";
import {STRATEGY_NAMES} from "./say-sure.ts";
import {northArrow, scaleBar} from "./scale-and-north.ts";
import {SANS, SERIF} from "./three-maps.ts";

/** Units of a panel; printed about 60 mm wide, so that 10 units are some 6 points. */
const PANEL = {width: 300, gap: 12, head: 42, foot: 6};
const LETTERING = {most: 15, least: 8.5};

/** One product's rates under every strategy, side by side: same scale, same extent, one ramp. */
export function rateMaps(model: ReportModel, analysis: string, nutrient: string): string {
  const panels = model.strategies.flatMap((strategy) => {
    const made = strategy.prescriptions.find((p) => p.product.analysis === analysis && p.nutrient === nutrient);
    return made ? [{strategy, made}] : [];
  });
  const most = Math.max(1, ...panels.flatMap(({made}) => made.polygons.map(({rateLbPerAcre}) => rateLbPerAcre)));
  return strip(
    model.outline,
    panels.map(({strategy, made}) => ({
      title: STRATEGY_NAMES[strategy.plan.strategy],
      note: rateNote(strategy, made),
      parts: ratesOf(strategy, made, most),
    })),
    panels.length,
    legend(`lb of ${analysis} per acre`, RAMPS.rate, "0", formatNumber(most)),
  );
}

/** Where two strategies part, up to three side by side: signs on the map, hatched where less goes on. */
export function differenceMaps(outline: MultiPolygon, maps: readonly DifferenceMap[]): string {
  const most = Math.max(1, ...maps.flatMap(({pieces}) => pieces.map((piece) => Math.abs(piece.differenceLbPerAcre))));
  const colours = [-1, -0.5, 0, 0.5, 1].map((share) => differenceColour(share, 1));
  return strip(
    outline,
    maps.map((map) => ({
      title: `${STRATEGY_NAMES[map.strategy]} − ${STRATEGY_NAMES[map.against].toLowerCase()}`,
      note: `${formatNumber(map.acresMore)} ac more, ${formatNumber(map.acresLess)} ac less`,
      parts: map.pieces.map(({shape, differenceLbPerAcre: by}): MapPart => {
        const beyond = Math.abs(by) > map.toleranceLbPerAcre;
        return {
          shape,
          fill: beyond ? differenceColour(by, most) : "#f7f3ea",
          text: beyond ? `${by > 0 ? "+" : ""}${formatNumber(by)}` : "",
          ...(beyond && by < 0 && {hatch: "less" as const}),
        };
      }),
    })),
    3,
    legend(
      `lb of ${maps[0]?.analysis ?? "product"} per acre`,
      colours,
      `−${formatNumber(most)}`,
      `+${formatNumber(most)}`,
    ),
  );
}

interface Panel {
  readonly title: string;
  readonly note: string;
  readonly parts: readonly MapPart[];
}

/** `places` leaves room for panels that are not there, so that strips on one page keep one scale. */
function strip(
  outline: MultiPolygon,
  panels: readonly Panel[],
  places: number,
  legendOf: (right: number) => string,
): string {
  const box = boxOf(outline);
  const slope = (box.north - box.south) / (box.east - box.west);
  const mapHeight = Math.round(Math.min(360, Math.max(150, (PANEL.width - 24) * slope + 62)));
  const width = places * PANEL.width + (places - 1) * PANEL.gap;
  const height = PANEL.head + mapHeight + PANEL.foot;
  const scale = fitScale(box, PANEL.width, mapHeight - 34, 12);
  const drawn = panels.map(
    ({title, note, parts}, i) => `<g transform="translate(${i * (PANEL.width + PANEL.gap)} ${PANEL.head})">
<text y="-7" font-family="${SERIF}" font-weight="600" font-size="15">${escapeXml(title)}</text>
<text x="${PANEL.width}" y="-7" text-anchor="end" font-size="12.5" fill="#3f4a4e">${escapeXml(note)}</text>
<rect x="0.5" y="0.5" width="${PANEL.width - 1}" height="${mapHeight - 1}" fill="#f3efe4" stroke="#1f2a2e"/>
${fieldMap(outline, parts, scale, LETTERING)}
${scaleBar(scale, PANEL.width, mapHeight, 13)}
${northArrow(PANEL.width, mapHeight)}
</g>`,
  );
  return `<svg xmlns="http://www.w3.org/2000/svg" class="maps" viewBox="0 0 ${width} ${height}" font-family="${SANS}" fill="#1f2a2e" role="img">
${HATCHES}
${legendOf(width)}
${drawn.join("\n")}
</svg>`;
}

/** The ramp in boxes with its ends, flush right over the panels. */
function legend(text: string, colours: readonly string[], least: string, most: string): (right: number) => string {
  return (right) => {
    const room = 8 * most.length + 6;
    const left = right - room - colours.length * 26;
    const boxes = colours.map(
      (colour, i) =>
        `<rect x="${left + i * 26}" y="2" width="26" height="11" fill="${colour}" stroke="#1f2a2e" stroke-opacity="0.35"/>`,
    );
    return `${boxes.join("")}<text x="${right}" y="12" font-size="13" text-anchor="end">${most}</text>
<text x="${left - 6}" y="12" font-size="13" text-anchor="end">${escapeXml(text)}  ${least}</text>`;
  };
}

/** Units in one piece each; what setbacks and merging made of the rest in polygons of their own. */
function ratesOf({plan}: ReportStrategy, made: BuiltPrescription, most: number): MapPart[] {
  const drawn = new Set<string>();
  const whole = made.unitRates.flatMap(({unit, polygons, rateLbPerAcre}) => {
    const own = made.polygons.filter(
      (p) => polygons.includes(p.unit) && p.rateLbPerAcre === rateLbPerAcre && !drawn.has(p.unit),
    );
    for (const p of own) drawn.add(p.unit);
    return own.length > 0 ? [{unit, rateLbPerAcre, shape: own.map(({polygon}) => polygon)}] : [];
  });
  const rest = made.polygons
    .filter(({unit}) => !drawn.has(unit))
    .map(({unit, rateLbPerAcre, polygon}) => ({unit, rateLbPerAcre, shape: [polygon]}));
  return [...whole, ...rest].flatMap(({unit, rateLbPerAcre, shape}) => {
    const zone = plan.units.find(({id}) => id === unit)?.zone;
    return [
      {
        shape,
        fill: rampColour("rate", rateLbPerAcre, 0, most),
        text: formatNumber(rateLbPerAcre),
        ...(zone !== undefined && {ring: String(zone)}),
        ...(rateLbPerAcre === 0 && {hatch: "zero" as const}),
      },
    ];
  });
}

function rateNote({plan}: ReportStrategy, made: BuiltPrescription): string {
  const rates = new Set(made.polygons.map(({rateLbPerAcre}) => rateLbPerAcre)).size;
  const samples = `${plan.units.length} ${plan.units.length === 1 ? "sample" : "samples"}`;
  return `${samples}, ${rates === 1 ? "one rate" : `${rates} rates`}`;
}
