import type {SamplingPlan, SamplingUnit} from "../sampling/plan.ts";
import {METRES_PER_FOOT, METRES_PER_INCH, METRES_PER_MILE} from "../units/factors.ts";
import {formatArea, formatNumber, formatShort} from "../units/format.ts";
import {escapeXml} from "./escape-xml.ts";
import {type Paper, pageHtml, paragraphs} from "./page-html.ts";
import {type Bag, bagsOf, PLAN_KINDS} from "./sampling-bags.ts";
import {boxAround, MAP_WIDTH, type SamplingGround, type SamplingMap, samplingMap} from "./sampling-map.ts";

/** What the crew carries is made from. */
export interface SamplingSheetModel extends SamplingGround {
  readonly farm?: string | undefined;
  readonly field: string;
  readonly areaM2: number;
  readonly plan: SamplingPlan;
  /** What the plan is called in print, as in "grid". Default: its strategy. */
  readonly kind?: string | undefined;
  /** Mark of the plan, kept with its lab results. */
  readonly mark?: string | undefined;
  /** Hours the work is reckoned to take. */
  readonly hours?: number | undefined;
  /** Stands at the foot of the last page. */
  readonly caution: string;
}

/** One map with the bags it shows. */
export interface SheetPart {
  readonly units: readonly SamplingUnit[];
  readonly map: SamplingMap;
}

/** A sheet before it is set: one map of everything, or a key map and parts of the walk on maps of their own. */
export interface SheetLayout {
  readonly whole: SamplingMap;
  /** Empty when the one map shows all. */
  readonly parts: readonly SheetPart[];
}

/**
 * The sampling sheet of one plan as a self-contained HTML document to be printed: depth in large type, map, walk, and a
 * list of bags to tick. Plans of any size: maps are cut along the walk until every number can be read, lists run on.
 *
 * Black on white; nothing is told by colour.
 *
 * @param paper - Sheet size named in the print rules; the pages fit both. Default letter.
 */
export function samplingSheetHtml(model: SamplingSheetModel, paper: Paper = "letter"): string {
  const {plan, field} = model;
  const {whole, parts} = layOutSheet(model);
  const body = `${title(model)}
${facts(model)}
${whole.svg}
<p class="note">${escapeXml(legend(model, parts.length))}</p>
${parts.length === 0 ? bagList(bagsOf(plan)) : parts.map((part, i) => partSection(plan, part, i, parts.length)).join("\n")}
<section class="rules">
<h3>On the ground</h3>
<ol>
${rules(plan)
  .map((rule) => `<li>${escapeXml(rule)}</li>`)
  .join("\n")}
</ol>
${paragraphs([model.caution], "caution")}
</section>`;
  const depth = depthText(plan.depth).us;
  const name = `${field}, ${kindOf(model)} sampling`;
  return pageHtml(`${name} sheet`, body, paper, `${name}. Every core to ${depth}.`, SHEET_CSS);
}

/**
 * One map when every unit and core number finds room on it; else a key map, and as few maps along the walk as leave no
 * number out. A single unit too crowded for the numbers of its cores gets its map all the same.
 */
export function layOutSheet(model: SamplingSheetModel): SheetLayout {
  const {plan} = model;
  const {units} = plan;
  const bags = bagsOf(plan);
  const numbers = bags.reduce((sum, {cores, unit}) => sum + 1 + (unit.centre ? 0 : cores.length), 0);
  for (const mostHeight of mapHeights(bags.length)) {
    if (MAP_WIDTH * mostHeight < LEAST_ROOM * numbers) continue;
    const one = samplingMap(model, plan, {mostHeight, trial: true});
    if (one.unplaced.length > 0) continue;
    if (mostHeight === KEY_HEIGHT || one.width * one.height > ROOM_FOR_LABEL * one.labels.length) {
      return {whole: one, parts: []};
    }
  }
  const parts = cutAlongWalk(units, (some) =>
    samplingMap(model, plan, {units: some, mostHeight: PART_HEIGHT, trial: some.length > 1}),
  );
  if (MAP_WIDTH * KEY_HEIGHT > ROOM_FOR_ID * bags.length) {
    const key = samplingMap(model, plan, {mostHeight: KEY_HEIGHT, key: true, trial: true});
    if (key.unplaced.length === 0) return {whole: key, parts};
  }
  // Too many units for one paper: the key shows where each of the maps lies.
  const frames = parts.map((part, i) => ({name: `Map ${i + 1}`, box: boxAround(part.units)}));
  return {whole: samplingMap(model, plan, {mostHeight: KEY_HEIGHT, key: true, frames, bare: true}), parts};
}

/** "8 in" and "20.3 cm". */
export function depthText(depthM: number): {us: string; metric: string} {
  return {us: `${formatShort(depthM / METRES_PER_INCH, 2)} in`, metric: `${formatShort(depthM * 100, 1)} cm`};
}

/** "1,240 ft" under a mile, else "3.2 mi". */
export function walkText(lengthM: number): string {
  return lengthM < METRES_PER_MILE
    ? `${formatNumber(lengthM / METRES_PER_FOOT)} ft`
    : `${formatNumber(lengthM / METRES_PER_MILE, 1)} mi`;
}

/** "10", or "6 to 10" where some units hold fewer. */
export function coresEach(bags: readonly {readonly cores: readonly unknown[]}[]): string {
  const counts = bags.map(({cores}) => cores.length);
  const [least, most] = [Math.min(...counts), Math.max(...counts)];
  return least === most ? `${most}` : `${least} to ${most}`;
}

// --- inside ---------------------------------------------------------------------------------------------------

/** Points of height on the shorter page (letter) that title, facts and legend leave on the first page. */
const KEY_HEIGHT = 575;
const RULES_HEIGHT = 128;
const ROW_HEIGHT = 17.2;
const LIST_HEAD = 28;
/** Square points of map for each label that make it easy to read; a lower map than the page allows should have them. */
const ROOM_FOR_LABEL = 1100;
/** With less there is no hope of placing them all. */
const LEAST_ROOM = 150;
/** The same of a key that has no cores. */
const ROOM_FOR_ID = 550;
/** A map lower than this is not tried for the sake of what stands under it. */
const LOW_MAP = 270;
const ROWS_ON_PAGE = 36;
/** Bags on one map of several at most, and the height that leaves their list room under it. */
const MOST_ON_PART = 24;
const PART_HEIGHT = 420;

const listHeight = (bags: number): number => LIST_HEAD + Math.ceil(bags / 2) * ROW_HEIGHT;

/** Heights to try for a single map: with list and rules on its page, with the list, alone. */
function mapHeights(bags: number): number[] {
  const withList = KEY_HEIGHT - listHeight(bags);
  return [withList - RULES_HEIGHT, withList, KEY_HEIGHT].filter((height) => height >= LOW_MAP);
}

/** The fewest runs of units whose maps leave nothing out, then runs of about equal length if that works as well. */
function cutAlongWalk(
  units: readonly SamplingUnit[],
  mapOf: (units: readonly SamplingUnit[]) => SamplingMap,
): SheetPart[] {
  const greedy: SheetPart[] = [];
  for (let from = 0; from < units.length; ) {
    let count = Math.min(MOST_ON_PART, units.length - from);
    let map = mapOf(units.slice(from, from + count));
    while (map.unplaced.length > 0 && count > 1) {
      count = Math.ceil(count * 0.75) < count ? Math.ceil(count * 0.75) : count - 1;
      map = mapOf(units.slice(from, from + count));
    }
    greedy.push({units: units.slice(from, from + count), map});
    from += count;
  }
  const even = greedy.map((_, i): SheetPart => {
    const some = units.slice(
      Math.round((i * units.length) / greedy.length),
      Math.round(((i + 1) * units.length) / greedy.length),
    );
    return {units: some, map: mapOf(some)};
  });
  return even.every(({map}) => map.unplaced.length === 0) ? even : greedy;
}

const kindOf = ({kind, plan}: SamplingSheetModel): string => kind ?? PLAN_KINDS[plan.strategy];

function title(model: SamplingSheetModel): string {
  const {farm, field, areaM2, mark} = model;
  const sub = [farm, formatArea(areaM2), `${kindOf(model)} sampling`, mark && `plan ${mark}`].filter(Boolean);
  return `<header class="title">
<div><h1>${escapeXml(field)}</h1><p class="sub">${escapeXml(sub.join(" · "))}</p></div>
<div class="blanks"><span>date</span><span>crew</span><span>start</span><span>end</span></div>
</header>`;
}

function facts({plan, kind, areaM2, gate, hours}: SamplingSheetModel): string {
  const {us, metric} = depthText(plan.depth);
  const bags = bagsOf(plan);
  const cores = bags.reduce((sum, bag) => sum + bag.cores.length, 0);
  const rows: (readonly [string, string])[] = [
    ["bags", formatNumber(bags.length)],
    ["cores in a bag", coresEach(bags)],
    ["cores in all", formatNumber(cores)],
    ["walk", plan.walk === undefined ? "" : walkText(plan.walk)],
    ["time, about", hours === undefined ? "" : `${formatNumber(hours, 1)} h`],
    ["acres a bag", kind === undefined ? formatArea(areaM2 / plan.units.length) : ""],
    ["begin", gate ? "at the gate" : (plan.units[0]?.id ?? "")],
  ];
  const cells = rows
    .filter(([, value]) => value !== "")
    .map(([what, value]) => `<div><p class="q">${what}</p><p class="a">${escapeXml(value)}</p></div>`);
  return `<div class="sheet-facts"><div class="depth"><p class="q">every core to</p><p class="big">${us}</p><p class="q">${metric}</p></div><div class="cells">${cells.join("")}</div></div>`;
}

function legend({plan, gate, keepOut}: SamplingSheetModel, parts: number): string {
  const points = plan.units.some(({centre}) => centre !== undefined);
  return [
    parts > 0
      ? `Key to ${parts} maps that follow the walk.`
      : points
        ? "Dots are cores, taken round each point in any order."
        : "Dots are cores, numbered in the order they are taken within each bag.",
    plan.route
      ? `The broken line is the way, from ${gate ? "the gate" : "the start"}${plan.route.returns ? " and back" : ""}.`
      : `The broken line is the walk, from ${gate ? "the gate" : "the start"} straight from core to core: go round what stands in the way.`,
    ...(plan.duplicates ? ["Rings are cores of second bags, with numbers of their own."] : []),
    ...(keepOut && keepOut.length > 0 ? ["Hatched ground is kept out of: no core there."] : []),
  ].join(" ");
}

function partSection(plan: SamplingPlan, {units, map}: SheetPart, i: number, count: number): string {
  const [first, last] = [units[0] as SamplingUnit, units.at(-1) as SamplingUnit];
  const ids = first === last ? first.id : `${first.id} to ${last.id}`;
  return `<section class="part${i === 0 ? " first" : ""}">
<h2>Map ${i + 1} of ${count}: ${escapeXml(ids)}</h2>
${map.svg}
${bagList(bagsOf(plan, units))}
</section>`;
}

/** Bags in walking order, to be ticked: two lists side by side, cut so that each pair fits a page. */
function bagList(bags: readonly Bag[]): string {
  const lists: string[] = [];
  for (let from = 0; from < bags.length; from += 2 * ROWS_ON_PAGE) {
    const some = bags.slice(from, from + 2 * ROWS_ON_PAGE);
    const half = Math.ceil(some.length / 2);
    lists.push(`<div class="bags">${bagTable(some.slice(0, half))}${bagTable(some.slice(half))}</div>`);
  }
  return lists.join("\n");
}

const LEAST_SHOWN_M2 = 200;

function bagTable(bags: readonly Bag[]): string {
  if (bags.length === 0) return "<div></div>";
  const rows = bags.map(({id, unit, cores, again}) => {
    // A place to be sampled has no acres to speak of.
    const acres = again || unit.area < LEAST_SHOWN_M2 ? "" : formatArea(unit.area).replace(" ac", "");
    const label = again ? `${unit.label}, second bag` : unit.label;
    return `<tr><td class="tick"><i></i></td><td class="id">${escapeXml(id)}</td><td class="ground">${escapeXml(label)}</td><td class="n">${acres}</td><td class="n">${cores.length}</td><td class="blank"></td><td class="blank"></td></tr>`;
  });
  return `<table><thead><tr><th style="width:5mm"></th><th style="width:18mm">bag</th><th>ground</th><th class="n" style="width:8mm">ac</th><th class="n" style="width:9mm">cores</th><th style="width:9mm">taken</th><th style="width:18mm">remarks</th></tr></thead><tbody>
${rows.join("\n")}
</tbody></table>`;
}

function rules(plan: SamplingPlan): string[] {
  const {us} = depthText(plan.depth);
  return [
    `Push every core to the full ${us}, and clear residue off the surface first: a shallow core reads high.`,
    "All cores of a unit go into its one bag; break them up and mix before filling it.",
    "Where a core cannot be taken as marked, move within the same unit and write it down. Never move into another unit.",
    "Leave a bag out rather than guess, and write why. Copy the id letter by letter from the label.",
    "Ask about buried lines and drains before probing. Keep off piles, old lots, dead furrows and headlands not marked for cores.",
  ];
}

const SHEET_CSS = `html { background: #fff; color: #000; }
:root { --ink: #000; --soft: #222; --rule: #888; --sheet: #fff; --accent: #000; }
.blanks { display: grid; grid-template-columns: 34mm 34mm; gap: 2.2mm 3mm; font-size: 8.5pt; }
.blanks span { border-bottom: 0.6pt solid #000; height: 5.2mm; }
.sheet-facts { display: flex; border: 1.2pt solid #000; margin-bottom: 2.5mm; }
.sheet-facts .depth { border-right: 1.2pt solid #000; padding: 1mm 6mm; text-align: center; white-space: nowrap; }
.sheet-facts .big { font-size: 34pt; font-weight: 700; line-height: 1; margin: 0; }
.sheet-facts .q { font-size: 8.5pt; margin: 0; }
.sheet-facts .a { font-size: 13pt; font-weight: 600; line-height: 1.15; margin: 0; }
.sheet-facts .cells { display: grid; grid-template-columns: repeat(4, 1fr); gap: 1mm 3mm; padding: 1.5mm 4mm; flex: 1; align-content: center; }
body { max-width: 184mm; }
@media print { body { width: 184mm; max-width: 184mm; margin: 0 auto; } }
svg.maps { width: auto; margin: 0; max-width: 100%; }
.bags { break-inside: avoid; display: grid; grid-template-columns: 1fr 1fr; gap: 5mm; margin-top: 2mm; align-items: start; }
.bags table { font-size: 8.6pt; table-layout: fixed; }
.bags td { padding: 0 1.2mm 0 0; height: 6mm; vertical-align: middle; border-top: 0.4pt solid #888; line-height: 1.05; }
.bags th { font-size: 7.6pt; line-height: 1.1; padding: 0.6mm 1.2mm 0.6mm 0; }
.bags td + td, .bags th + th { padding-left: 1.2mm; }
.bags td.tick i { display: block; width: 3.6mm; height: 3.6mm; border: 0.9pt solid #000; }
.bags td.id { font-weight: 700; font-size: 10pt; }
.bags td.ground { font-size: 7.8pt; }
.bags td.blank { border-left: 0.4pt solid #888; }
.part { break-inside: avoid; margin-bottom: 5mm; }
.part.first { break-before: page; }
.part h2 { margin: 0 0 1.5mm; }
.rules { break-inside: avoid; margin-top: 3mm; }
.rules ol { font-size: 9.2pt; }
.rules li { margin-bottom: 0.5mm; }
.caution { border-left: 2.5pt solid #000; }`;
