import {existsSync, readFileSync} from "node:fs";
import {dirname} from "node:path";
import {expectedYieldOf} from "../../sample-data/make/crop.ts";
import {millrace, type Season} from "../../sample-data/make/farm.ts";
import {truthAt} from "../../sample-data/make/truth.ts";
import {loadFiles} from "../../src/cli/load-files.ts";
import {nodeHost} from "../../src/cli/node-host.ts";
import type {Field} from "../../src/geo/field.ts";
import {toLonLat, toPlane} from "../../src/geo/frame.ts";
import {loadGeos} from "../../src/geo/geos.ts";
import {centreX, centreY, type Grid} from "../../src/grid/grid.ts";
import type {Layer} from "../../src/grid/layer.ts";
import {averageSeasons} from "../../src/layers/seasons.ts";
import {filesOf} from "../../src/pipeline/files-of.ts";
import type {Job} from "../../src/pipeline/job.ts";
import {judgeMadeZones, profileOf} from "../../src/pipeline/judge-made-zones.ts";
import {type FieldLayers, makeLayers} from "../../src/pipeline/make-layers.ts";
import {makeZones} from "../../src/pipeline/make-zones.ts";
import {readField} from "../../src/pipeline/read-inputs.ts";
import {readJob} from "../../src/pipeline/read-job.ts";
import {buildZones} from "../../src/zones/build-zones.ts";
import type {Feature} from "../../src/zones/feature-matrix.ts";
import {judgeZones} from "../../src/zones/judge/judge-zones.ts";
import type {Judgement} from "../../src/zones/judge/judgement.ts";
import {quarterSection} from "./quarter-section.ts";

// What zones explain of what they were not made from: a research farm's later harvests (open data, where present), and
// the hidden truth of the sample farm. Prints Markdown: npx tsx tests/bench/judge-cook.ts

const ROOT = new URL("../..", import.meta.url).pathname;
const COUNTS = [2, 3, 4, 5, 6];

await loadGeos();
if (existsSync(`${ROOT}/../shared/data`)) await cookFarm();
else print("A research farm: skipped: no shared data\n");
await hiddenTruth();
await howLong();

/** Zones from the seasons up to 2011 and soil and terrain, judged by the five harvests after. */
async function cookFarm(): Promise<void> {
  const {field, layers} = await layersOf("tests/jobs/cook-farm/job.json");
  const seasonOf = ({cleaned}: FieldLayers["seasons"][number]): number => cleaned.season;
  const earlier = layers.seasons.filter((season) => seasonOf(season) <= 2011);
  const later = layers.seasons.filter((season) => seasonOf(season) >= 2012).map(({layer}) => layer);
  const mean: Feature = {layer: averageSeasons(earlier.map(({layer}) => layer)).mean, theme: "yield"};
  const others = layers.features.filter(({layer}) => layer.id !== "yield-mean");
  print("### A research farm: zones from harvests up to 2011, judged on 2012 to 2016\n");
  print(
    header([
      "zones from",
      "zones",
      ...later.map(({label}) => label.replace(/ yield|, relative/g, "")),
      "mean",
      "by chance",
      "95 % under",
      "p",
      "verdict",
    ]),
  );
  for (const [from, features] of [
    ["yield 1999–2011", [mean]],
    ["yield, soil map, terrain", [mean, ...others]],
    ["soil map, terrain", others],
  ] as const) {
    for (const count of COUNTS) {
      const map = buildZones({field, grid: layers.grid, features}, {count});
      const judged = judgeZones({map, features, layers: later}, {draws: 999});
      print(
        row([
          from,
          String(count),
          ...judged.keptBack.map(({explained, byChance}) => `${percent(explained)} (p ${byChance.p.toFixed(3)})`),
          ...overallOf(judged),
        ]),
      );
    }
  }
  print("");
}

/** The sample farm's zones against the soil that its maker hides. */
async function hiddenTruth(): Promise<void> {
  const {field, layers} = await layersOf("sample-data/millrace/job.json");
  const truths = truthLayers(field, layers.grid);
  print("### Millrace: zones against the hidden truth (every 5 m cell, 0 to 8 in)\n");
  print(header(["zones", ...truths.map(({label}) => label), "mean", "by chance", "95 % under", "p", "verdict"]));
  for (const count of COUNTS) {
    const map = buildZones({field, grid: layers.grid, features: layers.features}, {count, seed: 2026});
    const judged = judgeZones({map, features: layers.features, layers: truths}, {draws: 999});
    const cells = judged.keptBack.map(
      ({explained, byChance}) =>
        `${percent(explained)} (chance ${percent(byChance.mean)}, under ${percent(byChance.high)}, p ${byChance.p.toFixed(3)})`,
    );
    print(row([String(count), ...cells, ...overallOf(judged)]));
  }
  print("");
}

/** Soil tests, their logarithms where skewed, and the mean yield to be expected over six seasons to come. */
function truthLayers(field: Field, grid: Grid): Layer[] {
  const at = (value: (x: number, y: number) => number): Float64Array =>
    Float64Array.from({length: grid.cols * grid.rows}, (_, i) => {
      const position = toLonLat(field.frame, {
        x: centreX(grid, i % grid.cols),
        y: centreY(grid, Math.floor(i / grid.cols)),
      });
      const {x, y} = toPlane(millrace.frame, position);
      return value(x, y);
    });
  const [first] = millrace.seasons;
  const coming = (["dry", "fair", "wet", "dry", "fair", "wet"] as const).map((weather, i) =>
    expectedYieldOf(millrace, {...(first as Season), year: 2031 + i, weather}),
  );
  const madeFrom = {step: "truth", inputs: [], options: {}};
  const layer = (label: string, values: Float64Array): Layer => ({id: label, label, unit: "1", grid, values, madeFrom});
  return [
    layer(
      "P, ppm",
      at((x, y) => truthAt(millrace, x, y).pPpm),
    ),
    layer(
      "log P",
      at((x, y) => Math.log(truthAt(millrace, x, y).pPpm)),
    ),
    layer(
      "K, ppm",
      at((x, y) => truthAt(millrace, x, y).kPpm),
    ),
    layer(
      "pH",
      at((x, y) => truthAt(millrace, x, y).ph),
    ),
    layer(
      "yield potential",
      at((x, y) => coming.reduce((sum, of) => sum + of(x, y), 0) / coming.length),
    ),
  ];
}

/** CPU seconds of the zone stage of a quarter section with everything asked for. */
async function howLong(): Promise<void> {
  const {job, files} = await quarterSection();
  const host = nodeHost(true);
  const field = await readField(job, files, []);
  const layers = await makeLayers(job, field, files, host, []);
  print("### A quarter section of 25,600 cells, 3 seasons: CPU seconds, best of 3\n");
  print(header(["what", "s"]));
  const zones = await seconds("build 4 zones", () => makeZones(job, field, layers, files, host, []));
  await seconds("judge: 3 seasons left out, 199 maps by chance, 50 resamples", () =>
    judgeMadeZones({...job, lab: undefined}, field, layers, zones, files, host, []),
  );
  await seconds("profile", () => profileOf(job, layers, zones));
  const choosing: Job = {...job, zones: {...job.zones, count: "choose"}};
  await seconds("choose among 1 to 8 and build", () => makeZones(choosing, field, layers, files, host, []));
}

async function seconds<T>(what: string, work: () => T | Promise<T>): Promise<T> {
  let best = Infinity;
  let value: T | undefined;
  for (let run = 0; run < 3; run++) {
    const before = process.cpuUsage();
    value = await work();
    const {user, system} = process.cpuUsage(before);
    best = Math.min(best, (user + system) / 1e6);
  }
  print(row([what, best.toFixed(2)]));
  return value as T;
}

async function layersOf(path: string): Promise<{field: Field; layers: FieldLayers}> {
  const job = readJob(readFileSync(`${ROOT}/${path}`, "utf8"), path);
  const {files} = loadFiles(dirname(`${ROOT}/${path}`), filesOf(job));
  const field = await readField(job, files, []);
  return {field, layers: await makeLayers(job, field, files, nodeHost(true), [])};
}

function overallOf({overall, evidence}: Judgement): string[] {
  const [all] = overall;
  if (!all) return ["", "", "", "", evidence];
  const {explained, byChance} = all;
  return [percent(explained), percent(byChance.mean), percent(byChance.high), byChance.p.toFixed(3), evidence];
}

function header(names: readonly string[]): string {
  return `${row(names)}\n${row(names.map(() => "---"))}`;
}

function row(cells: readonly string[]): string {
  return `| ${cells.join(" | ")} |`;
}

function percent(share: number): string {
  return `${(100 * share).toFixed(1)} %`;
}

function print(text: string): void {
  process.stdout.write(`${text}\n`);
}
