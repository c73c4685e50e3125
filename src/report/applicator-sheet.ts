import {boxOf} from "../geo/measure.ts";
import type {LonLat, MultiPolygon, Polygon} from "../geo/shapes.ts";
import {KG_PER_HA_PER_LB_PER_ACRE, POUNDS_PER_SHORT_TON, SQUARE_METRES_PER_ACRE} from "../units/factors.ts";
import {formatArea, formatNumber, formatShort} from "../units/format.ts";
import {escapeXml} from "./escape-xml.ts";
import {fieldMap, fitScale, HATCHES, type MapPart} from "./field-map.ts";
import {type Paper, pageHtml} from "./page-html.ts";
import {rampColour} from "./ramp.ts";
import {northArrow, scaleBar} from "./scale-and-north.ts";

/** One product as it goes on the field. */
export interface SheetProduct {
  /** As printed on the bag: "11-52-0". */
  readonly analysis: string;
  readonly name: string;
  /** Heading of its column in the files. */
  readonly column: string;
  readonly polygons: readonly {readonly polygon: Polygon; readonly area: number; readonly rateLbPerAcre: number}[];
  readonly totalLb: number;
  readonly gallons?: number | undefined;
  readonly outsideLbPerAcre: number;
  /** Where the controller does not know where it is. Default: the rate outside. */
  readonly lostPositionLbPerAcre?: number | undefined;
  /** As in "4 loads of 12,000 lb, the last of 3,100 lb". */
  readonly loads?: string | undefined;
  /** Somewhere in the polygon with the highest rate: a place to look at on the controller. */
  readonly place: LonLat;
}

export interface ApplicatorSheetModel {
  readonly farm?: string | undefined;
  readonly field: string;
  readonly areaM2: number;
  readonly outline: MultiPolygon;
  /** As in "zone sampling". */
  readonly basis: string;
  readonly products: readonly SheetProduct[];
  /** A line each, as in "well: nothing on 0.4 ac". */
  readonly setbacks: readonly string[];
  readonly cautions: readonly string[];
  readonly files: readonly {readonly name: string; readonly what: string; readonly sha256: string}[];
}

/**
 * One page for whoever spreads: maps with rates on them, totals, what lies outside, and what to check on the
 * controller before the first load. A self-contained HTML document; black on white, nothing told by colour alone.
 *
 * @param paper - Sheet size named in the print rules; the page fits both. Default letter.
 */
export function applicatorSheetHtml(model: ApplicatorSheetModel, paper: Paper = "letter"): string {
  const {farm, field, areaM2, basis, products, outline} = model;
  const sub = [farm, formatArea(areaM2), basis].filter(Boolean).join(" · ");
  const toDo = steps(products);
  const {left, tall} = layOut(model, toDo);
  const body = `<header class="title">
<div><h1>${escapeXml(field)}</h1><p class="sub">${escapeXml(sub)}</p></div>
<div class="blanks"><span>date</span><span>applicator</span><span>machine</span><span>wind, ground</span></div>
</header>
${productTable(products)}
${maps(outline, products, tall)}
<div class="two">
<div>${outsideBox(products)}
${left.map(({heading, lines}) => section(heading, lines)).join("\n")}</div>
<div class="steps"><h3>On the controller, before the first load</h3>
<ol>${toDo.map((step) => `<li><i></i><span>${escapeXml(step)}</span></li>`).join("\n")}</ol></div>
</div>
${fileTable(model.files)}`;
  const foot = `${field}: ${products.map((p) => `${p.analysis} ${formatNumber(p.totalLb)} lb`).join(", ")}`;
  return pageHtml(`${field}, applicator's sheet`, body, paper, foot, CSS);
}

/** Rates of the polygons by acres, rising: [rate, acres]. */
export function acresByRate(polygons: SheetProduct["polygons"]): (readonly [number, number])[] {
  const acres = new Map<number, number>();
  for (const {rateLbPerAcre, area} of polygons) {
    acres.set(rateLbPerAcre, (acres.get(rateLbPerAcre) ?? 0) + area / SQUARE_METRES_PER_ACRE);
  }
  return [...acres].sort(([a], [b]) => a - b);
}

// --- inside ---------------------------------------------------------------------------------------------------

function productTable(products: readonly SheetProduct[]): string {
  // One line for each where there are many.
  const small = products.length >= MANY ? " " : "<br>";
  const rows = products.map((product) => {
    const {analysis, name, column, polygons, totalLb, gallons, loads} = product;
    const rates = polygons.map(({rateLbPerAcre}) => rateLbPerAcre);
    const area = polygons.reduce((sum, polygon) => sum + polygon.area, 0);
    const spread = polygons.reduce((sum, p) => sum + (p.rateLbPerAcre > 0 ? p.area : 0), 0);
    const mean = totalLb / (area / SQUARE_METRES_PER_ACRE);
    const total =
      gallons === undefined ? `${formatNumber(totalLb / POUNDS_PER_SHORT_TON, 2)} ton` : `${formatNumber(gallons)} gal`;
    const cells = [
      formatShort(Math.min(...rates), 1),
      formatNumber(mean, 1),
      formatShort(Math.max(...rates), 1),
      formatArea(spread),
      `${formatNumber(totalLb)} lb${small}<small>${total}</small>`,
    ];
    return `<tr><td><b class="bag">${escapeXml(analysis)}</b>${small}<small>${escapeXml([name === analysis || products.length >= MANY ? "" : name, `column ${column}`].filter(Boolean).join(", "))}</small></td>${cells
      .map((cell) => `<td class="n">${cell}</td>`)
      .join("")}<td>${escapeXml(products.length >= MANY ? shortLoads(loads) : (loads ?? ""))}</td></tr>`;
  });
  const heads = ["least lb/ac", "mean lb/ac", "most lb/ac", "ground spread", "total"];
  return `<table class="products${products.length >= MANY ? " many" : ""}"><thead><tr><th>product</th>${heads.map((head) => `<th class="n">${head}</th>`).join("")}<th>${products.some(({loads}) => loads) ? "loads" : ""}</th></tr></thead><tbody>
${rows.join("\n")}
</tbody></table>`;
}

/** "3 loads" of "3 loads: 2 of 12,000 lb, …". */
const shortLoads = (loads: string | undefined): string => loads?.split(":")[0] ?? "";

const MAPS = {width: 700, gap: 14, head: 18};
/** What the shorter page (letter) holds, and what else stands on it, millimetres as printed. */
const PAGE = {height: 249, title: 21, head: 11, note: 6, box: 14, heading: 8, line: 3.75, files: 9, row: 4.7};
const PAGE_WIDTH = 184;
/** Letters on a line of each side. */
const LETTERS = {left: 56, right: 60};
const LEAST_MAP = 48;
const MOST_MAP = 105;
/** From this many products on, each has one line in the table. */
const MANY = 4;

interface Section {
  readonly heading: string;
  readonly lines: readonly string[];
}

/** Lists shortened, and the maps made as high as the rest of the page allows, in their own units. */
function layOut(model: ApplicatorSheetModel, toDo: readonly string[]): {left: readonly Section[]; tall: number} {
  const {products, setbacks, cautions, files} = model;
  const row = products.length >= MANY ? 7 : products.some(({loads}) => loads !== undefined) ? 17.5 : 12.5;
  const above = PAGE.title + PAGE.head + row * products.length + PAGE.note + PAGE.files + PAGE.row * files.length;
  // Rates outside: some 20 letters for each product, 40 to a line of large print.
  const box = PAGE.box + 5.5 * (Math.ceil((20 * products.length) / 40) - 1) + (lostApart(products) ? 10 : 0);
  const right = PAGE.heading + 1.2 * toDo.length + PAGE.line * linesOf(toDo, LETTERS.right);
  const tries = [5, 4, 3, 2, 1].map((most) => {
    const left: readonly Section[] = [
      {heading: "Setbacks", lines: shortened(setbacks, most)},
      {heading: "Rates and their ground", lines: products.map((product) => ratesLine(product, Math.max(3, most)))},
      {heading: "Cautions", lines: shortened(cautions, most)},
    ].filter(({lines}) => lines.length > 0);
    const height = left.reduce((sum, {lines}) => sum + PAGE.heading + PAGE.line * linesOf(lines, LETTERS.left), box);
    return {left, room: PAGE.height - above - Math.max(height, right)};
  });
  const {left, room} = (tries.find((one) => one.room >= LEAST_MAP) ?? tries.at(-1)) as (typeof tries)[number];
  return {left, tall: (Math.max(LEAST_MAP, Math.min(MOST_MAP, room)) / PAGE_WIDTH) * MAPS.width};
}

const linesOf = (texts: readonly string[], letters: number): number =>
  texts.reduce((sum, text) => sum + Math.ceil(text.length / letters), 0);

/** A map for each product at one scale, side by side: three in a row at most. */
function maps(outline: MultiPolygon, products: readonly SheetProduct[], tall: number): string {
  const perRow = Math.min(3, products.length);
  const rows = Math.ceil(products.length / perRow);
  const width = (MAPS.width - (perRow - 1) * MAPS.gap) / perRow;
  const height = (tall - (rows - 1) * MAPS.gap) / rows - MAPS.head;
  const scale = fitScale(boxOf(outline), width, height, 22);
  const panels = products.map(({analysis, polygons}, i) => {
    const most = Math.max(...polygons.map(({rateLbPerAcre}) => rateLbPerAcre));
    const parts = polygons.map(
      ({polygon, rateLbPerAcre}): MapPart => ({
        shape: [polygon],
        // The darker half of the ramp is left out: ink on it is hard to read on a poor printer.
        fill: rateLbPerAcre === 0 ? "#ffffff" : rampColour("rate", rateLbPerAcre, 0, 1.7 * most),
        text: formatShort(rateLbPerAcre, 1),
        ...(rateLbPerAcre === 0 ? {hatch: "zero" as const} : {}),
      }),
    );
    const x = (i % perRow) * (width + MAPS.gap);
    const y = Math.floor(i / perRow) * (height + MAPS.head + MAPS.gap);
    return `<g transform="translate(${x.toFixed(1)} ${y.toFixed(1)})"><text y="12" font-size="13" font-weight="600">${escapeXml(analysis)}, lb per acre</text>
<g transform="translate(0 ${MAPS.head})"><rect width="${width.toFixed(1)}" height="${height.toFixed(1)}" fill="#fff" stroke="#000" stroke-width="0.8"/>
${fieldMap(outline, parts, scale, {most: 15, least: 7})}
${scaleBar(scale, width, height, 10)}
${northArrow(width, height)}</g></g>`;
  });
  return `<svg class="maps" viewBox="0 0 ${MAPS.width} ${tall.toFixed(0)}" xmlns="http://www.w3.org/2000/svg" font-family="'Source Sans 3', 'Source Sans Pro', 'Segoe UI', Helvetica, Arial, sans-serif" fill="#000">
${HATCHES}
${panels.join("\n")}
</svg>
<p class="note">Numbers are lb of product per acre; darker is more; hatched ground gets nothing.</p>`;
}

const lostApart = (products: readonly SheetProduct[]): boolean =>
  products.some((p) => p.lostPositionLbPerAcre !== undefined && p.lostPositionLbPerAcre !== p.outsideLbPerAcre);

function outsideBox(products: readonly SheetProduct[]): string {
  const said = (rate: (product: SheetProduct) => number): string =>
    products.map((product) => `${product.analysis} ${formatShort(rate(product), 2)}\u00a0lb/ac`).join(" · ");
  const outside = said(({outsideLbPerAcre}) => outsideLbPerAcre);
  const lost = said(({outsideLbPerAcre, lostPositionLbPerAcre}) => lostPositionLbPerAcre ?? outsideLbPerAcre);
  const line = (what: string, rates: string): string => `<p class="q">${what}</p><p class="a">${escapeXml(rates)}</p>`;
  const lines = !lostApart(products)
    ? line("outside the map, and without a position", outside)
    : line("outside the map", outside) + line("without a position", lost);
  return `<div class="outside">${lines}</div>`;
}

/** @param most - Half the number of rates that may be listed. */
function ratesLine({analysis, polygons}: SheetProduct, most: number): string {
  const all = acresByRate(polygons);
  const shown = all.length > 2 * most ? [...all.slice(0, 2 * most - 1), ...all.slice(-1)] : all;
  const texts = shown.map(([rate, acres]) => `${formatShort(rate, 1)} on ${formatNumber(acres, 1)} ac`);
  if (all.length > 2 * most) texts.splice(-1, 0, `… ${all.length - 2 * most} more …`);
  return `${analysis}: ${texts.join(", ")}.`;
}

function steps(products: readonly SheetProduct[]): string[] {
  const [first] = products;
  if (!first) return [];
  const highest = (p: SheetProduct): number => Math.max(...p.polygons.map(({rateLbPerAcre}) => rateLbPerAcre));
  const [lon, lat] = first.place;
  const polygonsOf = ({polygons}: SheetProduct): string =>
    `${formatNumber(polygons.length)} ${polygons.length === 1 ? "polygon" : "polygons"}`;
  const highestOf = (p: SheetProduct): string => `${formatShort(highest(p), 1)} lb/ac of ${p.analysis}`;
  // Products with polygons of their own come in files of their own.
  const alike = products.every((p) => polygonsOf(p) === polygonsOf(first));
  return [
    alike
      ? `Load one of the files below. It must show ${polygonsOf(first)}, and as the highest rate ${products.map(highestOf).join(", ")}.`
      : `Load the files below. They must show ${products.map((p) => `${polygonsOf(p)} with up to ${highestOf(p)}`).join(", ")}.`,
    `See that the unit is lb of product per acre. ${formatShort(highest(first), 1)} lb/ac is ${formatNumber(highest(first) * KG_PER_HA_PER_LB_PER_ACRE, 1)} kg/ha: a controller set to kg/ha takes the file's number for that and spreads about a tenth too little.`,
    `Zoom to latitude ${lat.toFixed(6)}, longitude ${lon.toFixed(6)}: the rate there is ${formatShort(highest(first), 1)} lb/ac of ${first.analysis}.`,
    "Match each product to its bin, and set the rate outside the map and without a position as in the box.",
    "Calibrate with the product in the bin, and try the spread pattern at the highest and the lowest rate.",
    "After the field, compare what went out with the totals above, and keep the log of what was applied.",
  ];
}

function fileTable(files: ApplicatorSheetModel["files"]): string {
  const rows = files.map(
    ({name, what, sha256}) =>
      `<tr><td>${escapeXml(name)}</td><td>${escapeXml(what)}</td><td class="sum">${sha256.slice(0, 12)}</td></tr>`,
  );
  return `<table class="files"><thead><tr><th>file</th><th>for</th><th>SHA-256 begins</th></tr></thead><tbody>${rows.join("")}</tbody></table>`;
}

function section(heading: string, lines: readonly string[]): string {
  if (lines.length === 0) return "";
  return `<h3>${heading}</h3>
<ul>${lines.map((line) => `<li>${escapeXml(line)}</li>`).join("\n")}</ul>`;
}

function shortened(lines: readonly string[], most: number): string[] {
  return lines.length <= most ? [...lines] : [...lines.slice(0, most), `and ${lines.length - most} more`];
}

const CSS = `html { background: #fff; color: #000; font-size: 9.2pt; }
:root { --ink: #000; --soft: #222; --rule: #888; --sheet: #fff; --accent: #000; }
body { max-width: 184mm; }
@media print { body { width: 184mm; max-width: 184mm; margin: 0 auto; } }
.blanks { display: grid; grid-template-columns: 34mm 34mm; gap: 2.2mm 3mm; font-size: 8.5pt; }
.blanks span { border-bottom: 0.6pt solid #000; height: 5.2mm; }
.bag { font-size: 13pt; }
table.products { margin-bottom: 2mm; }
table.products td { vertical-align: middle; font-size: 10.5pt; }
table.many td { font-size: 8.6pt; padding-top: 0.4mm; padding-bottom: 0.4mm; white-space: nowrap; }
table.many .bag { font-size: 10pt; }
.outside { border: 1.2pt solid #000; padding: 1mm 3mm; margin-top: 2mm; }
.outside .q { font-size: 8.5pt; margin: 0; }
.outside .a { font-size: 12.5pt; font-weight: 700; margin: 0; }
.two { grid-template-columns: 1fr 1.1fr; gap: 6mm; }
.two ul { font-size: 8.6pt; line-height: 1.22; padding-left: 4mm; }
.two li { margin-bottom: 0.5mm; }
.steps ol { list-style: none; padding: 0; font-size: 8.8pt; line-height: 1.22; }
.steps li { display: grid; grid-template-columns: 6mm 1fr; margin-bottom: 0.9mm; }
.steps li i { width: 3.6mm; height: 3.6mm; border: 0.9pt solid #000; margin-top: 0.3mm; }
table.files { font-size: 7.8pt; margin-top: 2.5mm; }
table.files td { overflow-wrap: anywhere; padding-top: 0.4mm; padding-bottom: 0.4mm; }
.sum { font-family: "Source Code Pro", Consolas, "Liberation Mono", monospace; white-space: nowrap; }`;
