import {existsSync, mkdirSync, readFileSync, writeFileSync} from "node:fs";
import {join} from "node:path";
import {encodeUtf8} from "../../src/formats/text.ts";
import {type Field, makeField} from "../../src/geo/field.ts";
import {loadGeos} from "../../src/geo/geos.ts";
import {boxOf} from "../../src/geo/measure.ts";
import type {LonLatMultiPolygon} from "../../src/geo/shapes.ts";
import {centreX, centreY, type Grid, gridOver} from "../../src/grid/grid.ts";
import {maskOf} from "../../src/grid/rasterize.ts";
import {type CleanedYield, cleanYield} from "../../src/layers/clean-yield.ts";
import {gridYield} from "../../src/layers/grid-yield.ts";
import {YIELD_REASONS} from "../../src/layers/yield-reasons.ts";
import type {Remarks} from "../../src/pipeline/read-inputs.ts";
import {readJob} from "../../src/pipeline/read-job.ts";
import {readYield} from "../../src/pipeline/read-yield.ts";
import {fitScale} from "../../src/report/field-map.ts";
import {rampColour} from "../../src/report/ramp.ts";
import {quantiles} from "../../src/stats/robust.ts";

// What cleaning does to real logs, as Markdown tables and pictures before and after:
// npx tsx tests/bench/cleaning-report.ts OUT

const SHARED = new URL("../../../shared/data/", import.meta.url);
const [, , out = "out/cleaning"] = process.argv;

/** Width of one map, pixels. */
const PANEL = 620;

interface RealLog {
  readonly title: string;
  readonly file: string;
  readonly crop: "corn" | "wheat";
  readonly season: number;
  readonly boundary?: string;
  /** What the file does not say. */
  readonly more?: object;
}

const LOGS: readonly RealLog[] = [
  {
    title: "corn 2011",
    file: "minnesota_corn/yield_log_2011.csv",
    crop: "corn",
    season: 2011,
    more: {headerWidth: "30 ft"},
  },
  {
    title: "wheat 2016",
    file: "montana_wheat/yield_2016.csv",
    crop: "wheat",
    season: 2016,
    boundary: "montana_wheat/boundary.geojson",
  },
  {
    title: "wheat 2018",
    file: "montana_wheat/yield_2018.csv",
    crop: "wheat",
    season: 2018,
    boundary: "montana_wheat/boundary.geojson",
  },
];

if (existsSync(SHARED)) await report();
else console.log("skipped: no shared data");

async function report(): Promise<void> {
  await loadGeos();
  mkdirSync(out, {recursive: true});
  const done: {log: RealLog; cleaned: CleanedYield}[] = [];
  for (const log of LOGS) {
    const {field, cleaned, raw, remarks} = await clean(log);
    done.push({log, cleaned});
    const name = log.title.replace(" ", "-");
    writeFileSync(join(out, `${name}.svg`), picture(field, raw, cleaned));
    console.log(`\n${log.title}: ${name}.svg`);
    for (const {severity, message} of remarks) console.log(`- ${severity}: ${message}`);
  }
  console.log(`\n${markdown(done)}`);
}

async function clean(log: RealLog) {
  const read = (path: string): Uint8Array => new Uint8Array(readFileSync(new URL(path, SHARED)));
  const bytes = read(log.file);
  const job = readJob(
    JSON.stringify({
      field: {name: log.title, boundary: log.boundary ?? "none"},
      layers: {yield: [{file: "log.csv", crop: log.crop, season: log.season, ...log.more}]},
    }),
    "job.json",
  );
  const remarks: Remarks = [];
  const [source] = job.layers.yield;
  if (!source) throw new Error("no log");
  const field = log.boundary ? boundaryOf(log.title, read(log.boundary)) : aroundPositions(log.title, bytes);
  const [season] = await readYield(field, new Map([["log.csv", bytes]]), source, remarks);
  if (!season) throw new Error("no season");
  const options = source.headerWidth === undefined ? {} : {swathM: source.headerWidth};
  const cleaned = cleanYield(season.log, field, options);
  const raw = cleanYield(season.log, field, {...options, delayS: 0, effectiveSwath: false, matchMachines: false});
  return {field, cleaned, raw, remarks: [...remarks, ...cleaned.issues]};
}

function boundaryOf(name: string, bytes: Uint8Array): Field {
  const {features} = JSON.parse(new TextDecoder().decode(bytes));
  const {type, coordinates} = features[0].geometry;
  return makeField("field", name, type === "Polygon" ? [coordinates] : coordinates).field;
}

/** A log without a boundary lies in the box about its positions. */
function aroundPositions(name: string, bytes: Uint8Array): Field {
  const [head = "", ...lines] = new TextDecoder().decode(bytes).trim().split(/\r?\n/);
  const column = (wanted: string): number[] => {
    const index = head.split(",").indexOf(wanted);
    return lines.map((line) => Number(line.split(",")[index]));
  };
  const [lon, lat] = [column("lon"), column("lat")];
  const [w, e] = [Math.min(...lon) - 5e-5, Math.max(...lon) + 5e-5];
  const [s, n] = [Math.min(...lat) - 5e-5, Math.max(...lat) + 5e-5];
  const ring: LonLatMultiPolygon = [
    [
      [
        [w, s],
        [e, s],
        [e, n],
        [w, n],
        [w, s],
      ],
    ],
  ];
  return makeField("field", name, ring).field;
}

function markdown(done: readonly {log: RealLog; cleaned: CleanedYield}[]): string {
  const row = (name: string, cell: (cleaned: CleanedYield) => string): string =>
    `| ${name} | ${done.map(({cleaned}) => cell(cleaned)).join(" | ")} |`;
  const used = YIELD_REASONS.filter((reason) => done.some(({cleaned}) => cleaned.counts[reason] > 0));
  const perBushel = (cleaned: CleanedYield): number => (cleaned.crop === "corn" ? 0.06276766469 : 0.06725106937);
  const bushels = (tPerHa: number, cleaned: CleanedYield): string =>
    `${tPerHa.toFixed(2)} (${(tPerHa / perBushel(cleaned)).toFixed(1)})`;
  return [
    `| | ${done.map(({log}) => log.title).join(" | ")} |`,
    `|---|${done.map(() => "---:|").join("")}`,
    row("records", ({reason}) => reason.length.toLocaleString("en-US")),
    ...used.map((reason) => row(reason, ({counts}) => counts[reason].toLocaleString("en-US"))),
    row("kept, %", ({reason, counts}) => ((100 * counts.kept) / reason.length).toFixed(1)),
    row("delay, s (gain)", ({delay: {appliedS, estimate}}) =>
      estimate?.refused ? "none found" : `${appliedS} (${(100 * (estimate?.gain ?? 0)).toFixed(0)} %)`,
    ),
    row("mean before, t/ha (bu/ac)", (cleaned) => bushels(cleaned.before.mean, cleaned)),
    row("mean after", (cleaned) => bushels(cleaned.after.mean, cleaned)),
    row("median before", (cleaned) => bushels(cleaned.before.median, cleaned)),
    row("median after", (cleaned) => bushels(cleaned.after.median, cleaned)),
    row("greatest before", ({before}) => before.max.toFixed(1)),
    row("greatest after", ({after}) => after.max.toFixed(1)),
    row("CV before, %", ({before}) => before.cvPct.toFixed(1)),
    row("CV after, %", ({after}) => after.cvPct.toFixed(1)),
    row("Moran's I before", ({before}) => before.moranI.toFixed(3)),
    row("Moran's I after", ({after}) => after.moranI.toFixed(3)),
  ].join("\n");
}

/** Three maps: every record as logged, the records kept, and the grid made of them. One scale of colour. */
function picture(field: Field, raw: CleanedYield, cleaned: CleanedYield): Uint8Array {
  const kept = cleaned.yieldTPerHa.filter((_, i) => cleaned.reason[i] === 0);
  const [least, most] = quantiles(kept, [0.02, 0.98]) as [number, number];
  const colour = (value: number): string => rampColour("rate", value, least, most);
  const box = boxOf(field.outline);
  const height = Math.round((PANEL * (box.north - box.south)) / (box.east - box.west)) + 40;
  const scale = fitScale(box, PANEL, height - 30, 10);
  const grid = gridOver(field.frame, box, 5);
  const gridded = gridYield(cleaned, grid, maskOf(grid, field.outline)).layer.values;
  const panel = (n: number, title: string, marks: string): string =>
    `<g transform="translate(${n * PANEL} 30)"><text x="10" y="-10" font-size="16">${title}</text>${marks}</g>`;
  const isLogged = (i: number): boolean => Number.isFinite(raw.yieldTPerHa[i] as number);
  return encodeUtf8(
    `<svg xmlns="http://www.w3.org/2000/svg" width="${3 * PANEL}" height="${height}" font-family="sans-serif">` +
      `<rect width="100%" height="100%" fill="#fffdf8"/>${panel(
        0,
        "as logged",
        rectangles(raw, scale, colour, isLogged),
      )}${panel(
        1,
        `kept (${least.toFixed(1)} to ${most.toFixed(1)} t/ha)`,
        rectangles(cleaned, scale, colour, (i) => cleaned.reason[i] === 0),
      )}${panel(2, "5 m grid", cells(grid, gridded, scale, colour))}</svg>\n`,
  );
}

function rectangles(
  {x, y, east, north, lengthM, swathM, yieldTPerHa}: CleanedYield,
  scale: ReturnType<typeof fitScale>,
  colour: (value: number) => string,
  isDrawn: (i: number) => boolean,
): string {
  const marks: string[] = [];
  for (let i = 0; i < x.length; i++) {
    if (!isDrawn(i) || Number.isNaN((x[i] as number) + (east[i] as number))) continue;
    const [ex, ny] = [east[i] as number, north[i] as number];
    const [half, back] = [(swathM[i] as number) / 2, Math.min(20, lengthM[i] as number)];
    const corner = (side: number, behind: number): string =>
      `${scale.x((x[i] as number) - behind * ex - side * ny).toFixed(1)},${scale.y((y[i] as number) - behind * ny + side * ex).toFixed(1)}`;
    const points = [corner(-half, 0), corner(half, 0), corner(half, back), corner(-half, back)];
    marks.push(`<polygon points="${points.join(" ")}" fill="${colour(yieldTPerHa[i] as number)}"/>`);
  }
  return marks.join("");
}

function cells(
  grid: Grid,
  values: Float64Array,
  scale: ReturnType<typeof fitScale>,
  colour: (value: number) => string,
): string {
  const side = grid.cellSize * scale.pixelsPerMetre;
  const marks: string[] = [];
  values.forEach((value, i) => {
    if (Number.isNaN(value)) return;
    const left = scale.x(centreX(grid, i % grid.cols)) - side / 2;
    const top = scale.y(centreY(grid, Math.floor(i / grid.cols))) - side / 2;
    const size = `width="${side.toFixed(2)}" height="${side.toFixed(2)}"`;
    marks.push(`<rect x="${left.toFixed(1)}" y="${top.toFixed(1)}" ${size} fill="${colour(value)}"/>`);
  });
  return marks.join("");
}
