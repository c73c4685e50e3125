import {boxOf, contains, distanceToEdgeM} from "../geo/measure.ts";
import type {Box, MultiPolygon, XY} from "../geo/shapes.ts";
import type {SamplingPlan, SamplingUnit} from "../sampling/plan.ts";
import {escapeXml} from "./escape-xml.ts";
import {fitScale, pathOf, type Scale} from "./field-map.ts";
import {type Bag, bagsOf, wayOf} from "./sampling-bags.ts";
import {
  emptyPaper,
  type Paper,
  type PlacedLabel,
  placeBeside,
  placeInside,
  placeOutside,
  take,
  takenNear,
} from "./sampling-label-places.ts";
import {northArrow, scaleBar} from "./scale-and-north.ts";
import {SANS} from "./three-maps.ts";

/** What a map of a plan shows besides the plan. Metres in the field's frame. */
export interface SamplingGround {
  readonly outline: MultiPolygon;
  readonly gate?: XY | undefined;
  readonly keepOut?: MultiPolygon | undefined;
}

export interface SamplingMapOptions {
  /** Units in focus, all by default: they fill the map and carry labels; others show as thin lines. */
  readonly units?: readonly SamplingUnit[];
  /** A key to other maps: no cores, and the walk only from unit to unit. Default false. */
  readonly key?: boolean;
  /** Height of the map at most, points of 1/72 inch. */
  readonly mostHeight: number;
  /** Gives up at the first label without room: enough to know that a map will not do. Default false. */
  readonly trial?: boolean;
  /** Leaves the ids of units out too, where `frames` say on which map they are. Default false. */
  readonly bare?: boolean;
  /** Boxes with a name over the plan, such as the pages of a larger map. */
  readonly frames?: readonly {readonly name: string; readonly box: Box}[];
}

export interface SamplingMap {
  readonly svg: string;
  readonly width: number;
  readonly height: number;
  /** Labels of the bags in focus, by id: one on each piece that has cores or the room. */
  readonly unitLabels: ReadonlyMap<string, readonly PlacedLabel[]>;
  /** Every label, of cores, gate and frames too. */
  readonly labels: readonly PlacedLabel[];
  /** What found no room: ids of units, and `KFG07-3` for the third core of one. */
  readonly unplaced: readonly string[];
}

/** Width of every map, points: fits letter and A4 within the margins of a page. */
export const MAP_WIDTH = 520;

const MARGIN = 30;
const LEAST_HEIGHT = 118;
const UNIT_SIZES = [11, 9, 7.5, 6.5] as const;
const CORE_SIZE = 6;
const CORE_DOT = 1.5;

/**
 * A plan on paper, in black on white: units and their ids, cores in the order they are taken, the walk, gate, keep-outs,
 * scale and north. No label covers another or a core; where an id has no room in its unit it stands beside it, with a
 * line.
 */
export function samplingMap(ground: SamplingGround, plan: SamplingPlan, options: SamplingMapOptions): SamplingMap {
  const units = options.units ?? plan.units;
  const whole = units.length === plan.units.length;
  const box = grown(boxAround(units, whole ? ground : undefined));
  const width = MAP_WIDTH;
  const slope = (box.north - box.south) / (box.east - box.west);
  const height = Math.max(
    LEAST_HEIGHT,
    Math.min(options.mostHeight, Math.round((width - 2 * MARGIN) * slope + 2 * MARGIN)),
  );
  const scale = fitScale(box, width, height, MARGIN);
  const onPaper = (p: XY): XY => ({x: scale.x(p.x), y: scale.y(p.y)});
  const paper = emptyPaper(width, height);
  take(paper, {west: 0, east: width / 4 + 40, north: height - 22, south: height});
  take(paper, {west: width - 30, east: width, north: height - 42, south: height});

  const bags = bagsOf(plan, units);
  const cores = options.key ? [] : bags.flatMap((bag) => bag.cores.map((core) => ({bag, core, at: onPaper(core)})));
  const dot = Math.min(CORE_DOT, Math.max(0.8, closest(cores.map(({at}) => at)) / 3));
  for (const {at} of cores) take(paper, boxAt(at, dot));

  const labels: PlacedLabel[] = [];
  const unplaced: string[] = [];
  const start = ground.gate ?? plan.units[0]?.cores[0];
  if (start && within(onPaper(start), width, height)) {
    const named = placeBeside(paper, ground.gate ? "GATE" : "START", 7, onPaper(start));
    if (named) labels.push(named);
  }
  const framed = (options.frames ?? []).map(({name, box: frame}) => {
    const corners = [onPaper({x: frame.west, y: frame.north}), onPaper({x: frame.east, y: frame.south})] as const;
    const label = placeBeside(paper, name, 9, corners[0]);
    if (label) labels.push(label);
    return frameSvg(corners[0], corners[1]);
  });
  const unitLabels = placeIds(paper, options.bare ? [] : bags, onPaper, scale, Boolean(options.trial));
  if (!options.bare) for (const {id} of bags) if (!unitLabels.has(id)) unplaced.push(id);
  labels.push(...[...unitLabels.values()].flat());
  for (const {bag, core, at} of cores) {
    if (options.trial && unplaced.length > 0) break;
    // Round a point the order of cores does not matter.
    if (bag.unit.centre) continue;
    const label = placeBeside(paper, String(core.number), CORE_SIZE, at);
    if (label) labels.push(label);
    else unplaced.push(`${bag.id}-${core.number}`);
  }

  const bold = new Set([...unitLabels.values()].flat());
  const svg = `<svg class="maps" xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${width} ${height}" style="width:${width}pt;height:${height}pt" font-family="${SANS}" fill="#000" role="img" aria-label="Map of the sampling plan">
<defs><clipPath id="sheet-${width}-${height}"><rect width="${width}" height="${height}"/></clipPath>${KEEP_OUT}</defs>
<rect x="0.4" y="0.4" width="${width - 0.8}" height="${height - 0.8}" fill="#fff" stroke="#000" stroke-width="0.8"/>
<g clip-path="url(#sheet-${width}-${height})">
${unitLines(plan, new Set(units.map(({id}) => id)), scale)}
${ground.keepOut && ground.keepOut.length > 0 ? `<path d="${pathOf(ground.keepOut, scale)}" fill="url(#keep-out)" stroke="#000" stroke-width="0.5"/>` : ""}
<path d="${pathOf(ground.outline, scale)}" fill="none" stroke="#000" stroke-width="1.6" stroke-linejoin="round" fill-rule="evenodd"/>
${framed.join("\n")}
${walkSvg(plan, ground.gate, onPaper, dot, Boolean(options.key))}
${cores.map(({at, bag}) => dotSvg(at, dot, bag.again)).join("")}
${ground.gate ? gateSvg(onPaper(ground.gate)) : ""}
${labels.map((label) => labelSvg(label, bold.has(label))).join("\n")}
</g>
<path d="M0.8 ${height - 22}h${width / 4 + 40}v21.2H0.8ZM${width - 30} ${height - 42}h29.2v41.2h-29.2Z" fill="#fff" fill-opacity="0.85"/>
${scaleBar(scale, width, height, 9)}
${northArrow(width, height)}
</svg>`;
  return {svg, width, height, unitLabels, labels, unplaced};
}

/** Box of units, and of the whole field with its gate when it is given. */
export function boxAround(units: readonly SamplingUnit[], ground?: SamplingGround): Box {
  const boxes = [...units.map(({shape}) => boxOf(shape)), ...(ground ? [boxOf(ground.outline)] : [])];
  if (ground?.gate) {
    const {x, y} = ground.gate;
    boxes.push({west: x, east: x, south: y, north: y});
  }
  return {
    west: Math.min(...boxes.map(({west}) => west)),
    east: Math.max(...boxes.map(({east}) => east)),
    south: Math.min(...boxes.map(({south}) => south)),
    north: Math.max(...boxes.map(({north}) => north)),
  };
}

// --- inside ---------------------------------------------------------------------------------------------------

/** A field a metre wide still makes a map. */
function grown({west, east, south, north}: Box): Box {
  const more = Math.max(1, 0.01 * Math.max(east - west, north - south));
  return {west: west - more, east: east + more, south: south - more, north: north + more};
}

/** Ids of bags inside their units first, then those without room there, so that lines go round what stands. */
function placeIds(
  paper: Paper,
  bags: readonly Bag[],
  onPaper: (p: XY) => XY,
  scale: Scale,
  trial: boolean,
): Map<string, PlacedLabel[]> {
  const jobs = bags.flatMap(({id, unit: {shape, area}, cores}) =>
    shape.map((polygon) => {
      const drawn = [polygon.map((ring) => ring.map(onPaper))];
      return {
        id,
        shape: drawn,
        side: Math.sqrt(area) * scale.pixelsPerMetre,
        spot: openSpot(drawn, paper),
        needed: shape.length === 1 || cores.some(({x, y}) => contains([polygon], x, y)),
        placed: false,
      };
    }),
  );
  const usual = jobs.map(({side}) => side).sort((a, b) => a - b)[Math.floor(jobs.length / 2)] ?? 0;
  const size = UNIT_SIZES.find((s) => s <= usual / 5) ?? (UNIT_SIZES.at(-1) as number);
  const found = new Map<string, PlacedLabel[]>(bags.map(({id}) => [id, []]));
  const lines = jobs.flatMap(({shape}) => shape.flat());
  const attempt = (job: (typeof jobs)[number], label: PlacedLabel | undefined): void => {
    if (!label) return;
    job.placed = true;
    found.get(job.id)?.push(label);
  };
  for (const smaller of UNIT_SIZES.filter((s) => s <= size)) {
    for (const job of jobs) {
      if (!job.placed) attempt(job, placeInside(paper, job.id, smaller, job.shape, job.spot));
    }
  }
  // A unit of slivers without cores still shows its id once.
  for (const job of jobs) {
    if (job.placed || !(job.needed || found.get(job.id)?.length === 0)) continue;
    attempt(job, placeOutside(paper, job.id, size, job.shape, openSpot(job.shape, paper), lines));
    if (!job.placed && job.needed) found.delete(job.id);
    if (!job.placed && trial) break;
  }
  return new Map([...found].filter(([, labels]) => labels.length > 0));
}

/** A point of a shape far from its edge and clear of what is already drawn. */
function openSpot(shape: MultiPolygon, paper: Paper): XY {
  const points = shape.flatMap((polygon) => polygon[0] ?? []);
  const [west, east] = [Math.min(...points.map(({x}) => x)), Math.max(...points.map(({x}) => x))];
  const [north, south] = [Math.min(...points.map(({y}) => y)), Math.max(...points.map(({y}) => y))];
  const near = [...new Set(takenNear(paper, {west, east, north, south}))];
  let best = points[0] ?? {x: 0, y: 0};
  let most = -Infinity;
  const steps = 24;
  for (let i = 1; i < steps; i++) {
    for (let j = 1; j < steps; j++) {
      const at = {x: west + ((east - west) * i) / steps, y: north + ((south - north) * j) / steps};
      if (!contains(shape, at.x, at.y)) continue;
      const clear = near.reduce((least, box) => Math.min(least, distanceToBox(at, box)), 20);
      const room = Math.min(20, distanceToEdgeM(shape, at)) + clear;
      if (room > most) {
        most = room;
        best = at;
      }
    }
  }
  return best;
}

function distanceToBox({x, y}: XY, {west, east, north, south}: Box): number {
  return Math.hypot(Math.max(west - x, 0, x - east), Math.max(north - y, 0, y - south));
}

function closest(points: readonly XY[]): number {
  let least = Infinity;
  const sorted = [...points].sort((a, b) => a.x - b.x);
  sorted.forEach((a, i) => {
    for (let k = i + 1; k < sorted.length; k++) {
      const b = sorted[k] as XY;
      if (b.x - a.x >= least) break;
      least = Math.min(least, Math.hypot(a.x - b.x, a.y - b.y));
    }
  });
  return least;
}

const boxAt = ({x, y}: XY, half: number): Box => ({west: x - half, east: x + half, north: y - half, south: y + half});

const within = ({x, y}: XY, width: number, height: number): boolean => x >= 0 && y >= 0 && x <= width && y <= height;

const KEEP_OUT = `<pattern id="keep-out" width="5" height="5" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><path d="M0 0V5" stroke="#000" stroke-width="0.8"/></pattern>`;

/** Zones are told apart by their ids; a grey ground helps the eye, and can be lost in a copy without harm. */
const ZONE_GREYS = ["#fff", "#ececec", "#f6f6f6", "#e0e0e0"] as const;

function unitLines(plan: SamplingPlan, inFocus: ReadonlySet<string>, scale: Scale): string {
  const path = (units: readonly SamplingUnit[], rest: string): string =>
    units.length === 0
      ? ""
      : `<path d="${units.map(({shape}) => pathOf(shape, scale)).join("")}" ${rest} fill-rule="evenodd"/>`;
  const others = path(
    plan.units.filter(({id}) => !inFocus.has(id)),
    'fill="#eee" stroke="#999" stroke-width="0.5"',
  );
  const ours = plan.units.filter(({id}) => inFocus.has(id));
  const grounds = ours.map((unit) => path([unit], `fill="${ZONE_GREYS[((unit.zone ?? 1) - 1) % ZONE_GREYS.length]}"`));
  return `${others}${grounds.join("")}${path(ours, 'fill="none" stroke="#000" stroke-width="0.8" stroke-linejoin="round"')}`;
}

/** The walk as a broken line, with arrows on the way; in short, only from unit to unit. */
function walkSvg(
  plan: SamplingPlan,
  gate: XY | undefined,
  onPaper: (p: XY) => XY,
  dot: number,
  short: boolean,
): string {
  const bags = bagsOf(plan).filter(({cores}) => cores.length > 0);
  const firsts = bags.map(({cores}) => cores[0] as XY);
  const way = (short ? [...(gate ? [gate] : []), ...firsts] : wayOf(plan, gate)).map(onPaper);
  if (way.length < 2) return "";
  const path = way.map(({x, y}, i) => `${i === 0 ? "M" : "L"}${x.toFixed(1)} ${y.toFixed(1)}`).join("");
  const lasts = bags.map(({cores}) => cores.at(-1) as XY);
  const legs: (readonly [XY, XY])[] =
    plan.route && !short
      ? way.slice(1).map((to, i) => [way[i] as XY, to] as const)
      : firsts.flatMap((to, i) => {
          const from = i === 0 ? gate : short ? firsts[i - 1] : lasts[i - 1];
          return from ? [[onPaper(from), onPaper(to)] as const] : [];
        });
  const least = plan.route && !short ? LONG_LEG : SHORT_LEG;
  const arrows = legs.flatMap(([from, to]) => arrowSvg(from, to, least));
  return `<path d="${path}" fill="none" stroke="#444" stroke-width="${Math.min(0.7, dot / 2).toFixed(2)}" stroke-dasharray="3 1.6"/>${arrows.join("")}`;
}

/** Shortest piece of the way that gets an arrow, points: between bags, and of a way with bends. */
const SHORT_LEG = 9;
const LONG_LEG = 22;

function arrowSvg(from: XY, to: XY, least: number): string[] {
  const length = Math.hypot(to.x - from.x, to.y - from.y);
  if (length < least) return [];
  const [ux, uy] = [(to.x - from.x) / length, (to.y - from.y) / length];
  const tip = {x: (from.x + to.x) / 2 + 3 * ux, y: (from.y + to.y) / 2 + 3 * uy};
  const corner = (side: number): string =>
    `${(tip.x - 5.5 * ux - side * 2.2 * uy).toFixed(1)} ${(tip.y - 5.5 * uy + side * 2.2 * ux).toFixed(1)}`;
  return [`<path d="M${tip.x.toFixed(1)} ${tip.y.toFixed(1)}L${corner(1)}L${corner(-1)}Z" fill="#444"/>`];
}

/** Cores of a second bag are rings. */
function dotSvg({x, y}: XY, radius: number, again: boolean): string {
  const ring = again ? ` fill="#fff" stroke="#000" stroke-width="${(radius * 0.5).toFixed(2)}"` : "";
  return `<circle cx="${x.toFixed(1)}" cy="${y.toFixed(1)}" r="${radius.toFixed(2)}"${ring}/>`;
}

function gateSvg({x, y}: XY): string {
  return `<rect x="${(x - 2.6).toFixed(1)}" y="${(y - 2.6).toFixed(1)}" width="5.2" height="5.2" fill="#fff" stroke="#000" stroke-width="1.3"/>`;
}

function frameSvg(a: XY, b: XY): string {
  return `<rect x="${a.x.toFixed(1)}" y="${a.y.toFixed(1)}" width="${(b.x - a.x).toFixed(1)}" height="${(b.y - a.y).toFixed(1)}" fill="none" stroke="#000" stroke-width="1" stroke-dasharray="7 3"/>`;
}

/** Set to exactly the width it was placed with, whatever font the reader has. */
function labelSvg({text, box, fontSize, leader}: PlacedLabel, bold: boolean): string {
  const line = leader
    ? `<path d="M${leader.from.x.toFixed(1)} ${leader.from.y.toFixed(1)}L${leader.to.x.toFixed(1)} ${leader.to.y.toFixed(1)}" stroke="#000" stroke-width="0.5"/><circle cx="${leader.to.x.toFixed(1)}" cy="${leader.to.y.toFixed(1)}" r="0.9" fill="#fff" stroke="#000" stroke-width="0.4"/>`
    : "";
  return `${line}<text x="${box.west.toFixed(1)}" y="${(box.south - fontSize * 0.07).toFixed(1)}" font-size="${fontSize}" textLength="${(box.east - box.west).toFixed(1)}" lengthAdjust="spacingAndGlyphs"${bold ? ' font-weight="700"' : ""} stroke="#fff" stroke-width="${bold ? 2.4 : 1.6}" stroke-linejoin="round" paint-order="stroke">${escapeXml(text)}</text>`;
}
