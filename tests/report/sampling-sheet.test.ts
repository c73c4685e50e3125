import {beforeAll, describe, expect, it} from "vitest";
import {loadGeos} from "../../src/geo/geos.ts";
import {contains} from "../../src/geo/measure.ts";
import type {Box} from "../../src/geo/shapes.ts";
import {bagsOf} from "../../src/report/sampling-bags.ts";
import {overlap} from "../../src/report/sampling-label-places.ts";
import {MAP_WIDTH, type SamplingMap} from "../../src/report/sampling-map.ts";
import {
  layOutSheet,
  type SamplingSheetModel,
  type SheetLayout,
  samplingSheetHtml,
} from "../../src/report/sampling-sheet.ts";
import {metres, squareMetres} from "../../src/units/quantity.ts";
import {rectangleFt} from "../sampling/make-field.ts";
import {anyModel, gridModel, modelOf} from "./sampling-plans.ts";

beforeAll(loadGeos);

/** Every two labels of a map that cover each other, and every label that leaves the paper. */
function faults({labels, width, height}: SamplingMap): string[] {
  const out: string[] = [];
  labels.forEach(({text, box, leader}, i) => {
    if (box.west < 0 || box.north < 0 || box.east > width || box.south > height) out.push(`${text} off the paper`);
    for (const other of labels.slice(0, i)) if (overlap(box, other.box)) out.push(`${text} on ${other.text}`);
    for (const other of leader ? labels : []) {
      if (other.box === box || !leader) continue;
      for (let k = 0; k <= 40; k++) {
        const x = leader.from.x + ((leader.to.x - leader.from.x) * k) / 40;
        const y = leader.from.y + ((leader.to.y - leader.from.y) * k) / 40;
        // A hair within, because lines are laid to touch no more than an edge.
        if (
          x > other.box.west + 0.1 &&
          x < other.box.east - 0.1 &&
          y > other.box.north + 0.1 &&
          y < other.box.south - 0.1
        ) {
          out.push(`line of ${text} over ${other.text}`);
          break;
        }
      }
    }
  });
  return out;
}

const mapsOf = ({whole, parts}: SheetLayout): SamplingMap[] => [whole, ...parts.map(({map}) => map)];

/** Bags whose ids can be read on a map of their cores. */
function shownBags({whole, parts}: SheetLayout): string[] {
  return (parts.length > 0 ? parts.map(({map}) => map) : [whole])
    .flatMap(({unitLabels}) => [...unitLabels.keys()])
    .sort();
}

const bagIds = ({plan}: SamplingSheetModel): string[] =>
  bagsOf(plan)
    .map(({id}) => id)
    .sort();

describe("the maps of a sampling sheet", () => {
  it.each([2.5, 0.8])(
    "show every bag of a quarter section in %s ac cells, no label on another or off the paper",
    (cell) => {
      const model = gridModel(cell);
      const layout = layOutSheet(model);
      expect(mapsOf(layout).flatMap(faults)).toEqual([]);
      expect(shownBags(layout)).toEqual(bagIds(model));
    },
  );

  it("do so for sixteen fields of every shape, in every way of sampling", () => {
    for (let seed = 1; seed <= 16; seed++) {
      const model = anyModel(seed);
      const layout = layOutSheet(model);
      expect([seed, mapsOf(layout).flatMap(faults)]).toEqual([seed, []]);
      expect([seed, shownBags(layout)]).toEqual([seed, bagIds(model)]);
    }
  });

  it("number every core of every bag, except round points, where order does not matter", () => {
    const model = gridModel(2.5, {cores: 8});
    const numbers = layOutSheet(model).whole.labels.filter(({text}) => /^\d+$/.test(text));
    expect(numbers).toHaveLength(64 * 8);
    const points = layOutSheet(gridModel(2.5, {cores: 8, pattern: "point"})).whole.labels;
    expect(points.filter(({text}) => /^\d+$/.test(text))).toHaveLength(0);
  });

  it("put each id inside its unit, or lead a line into it", () => {
    const model = gridModel(2.5);
    const {whole} = layOutSheet(model);
    const drawn = new Map(model.plan.units.map((unit) => [unit.id, unit]));
    // The map is north-up and its scale is one number: found again from the labels' own map.
    const scale = scaleOf(model, whole);
    for (const [id, labels] of whole.unitLabels) {
      for (const label of labels) {
        const at = label.leader ? label.leader.to : middle(label.box);
        const {x, y} = scale(at);
        expect([id, contains(drawn.get(id)?.shape ?? [], x, y)]).toEqual([id, true]);
      }
    }
  });

  it("stand an id beside a unit too narrow for it", () => {
    const model = modelOf(rectangleFt(60, 2640), gridModel(2.5).plan);
    const strip = {
      ...model,
      plan: {...model.plan, units: [unit("WPG01", 18, 0, 8), unit("WPG02", 18, 8, 16), unit("WPG03", 400, 16, 800)]},
    };
    const {whole} = layOutSheet(strip);
    expect(faults(whole)).toEqual([]);
    const led = [...whole.unitLabels].filter(([, labels]) => labels.some(({leader}) => leader)).map(([id]) => id);
    expect(led).toEqual(["WPG01", "WPG02"]);
  });

  it("label every piece of a zone that has cores", () => {
    for (const seed of [2, 5, 8]) {
      const model = anyModel(seed);
      const {whole, parts} = layOutSheet(model);
      if (parts.length > 0) continue;
      for (const {id, shape, cores} of model.plan.units) {
        const pieces = shape.filter((polygon) => cores.some(({x, y}) => contains([polygon], x, y)));
        expect(whole.unitLabels.get(id)?.length).toBeGreaterThanOrEqual(pieces.length);
      }
    }
  });

  it("are cut along the walk when the numbers of cores do not fit one map, with a key to them", () => {
    const model = gridModel(0.8, {cores: 10});
    const {whole, parts} = layOutSheet(model);
    expect(parts.length).toBeGreaterThan(2);
    expect(parts.flatMap(({units}) => units)).toEqual(model.plan.units);
    expect(parts.flatMap(({map}) => map.unplaced)).toEqual([]);
    expect([...whole.unitLabels.keys()].sort()).toEqual(bagIds(model));
  });

  it("frame the page maps on the key when there are too many ids for it", () => {
    const model = gridModel(0.28, {cores: 2});
    expect(model.plan.units.length).toBeGreaterThan(500);
    const layout = layOutSheet(model);
    const {whole, parts} = layout;
    expect(whole.unitLabels.size).toBe(0);
    const named = whole.labels.map(({text}) => text).filter((text) => text.startsWith("Map "));
    expect(named).toContain(`Map ${parts.length}`);
    expect(shownBags(layout)).toEqual(bagIds(model));
  });

  it("fit the width of letter and A4 within the margins", () => {
    // 13 mm margins left and right: letter leaves 538 points, A4 521.
    expect(MAP_WIDTH).toBeLessThanOrEqual(((210 - 26) / 25.4) * 72);
  });
});

describe("a sampling sheet", () => {
  const html = (model: SamplingSheetModel): string => samplingSheetHtml(model);

  it("says the depth large, and acres, bags, cores and time", () => {
    const text = html(gridModel(2.5, {cores: 10, depth: metres(0.1524)}));
    expect(text).toContain('<p class="big">6 in</p>');
    for (const shown of ["160.0 ac", ">64<", ">640<", ">2.0 h<", "Look before you dig."]) expect(text).toContain(shown);
  });

  it("ticks off every bag once, in walking order, with its cores", () => {
    const model = gridModel(0.8, {duplicates: 5, cores: 9});
    const rows = [
      ...html(model).matchAll(/<td class="id">([^<]+)<\/td>.*?<td class="n">[\d.]*<\/td><td class="n">(\d+)<\/td>/g),
    ];
    expect(rows.map(([, id]) => id)).toEqual(bagsOf(model.plan).map(({id}) => id));
    expect(new Set(rows.map(([, , cores]) => cores))).toEqual(new Set(["9"]));
    expect(html(model).match(/<td class="tick">/g)).toHaveLength(rows.length);
  });

  it("names the gate and hatches keep-outs where they are known", () => {
    const keepOut = [
      [
        [
          {x: 100, y: 100},
          {x: 200, y: 100},
          {x: 200, y: 200},
          {x: 100, y: 100},
        ],
      ],
    ];
    const text = html(gridModel(5, {}, {gate: {x: 0, y: 0}, keepOut}));
    expect(text).toContain(">GATE<");
    expect(text).toContain("url(#keep-out)");
    expect(text).toContain("Hatched ground");
    expect(html(gridModel(5))).not.toContain("url(#keep-out)");
  });

  it("is one file without scripts, links or anything from outside, and shows names as they are", () => {
    const model = {...gridModel(5), field: 'Back <b>40</b> & "more"', farm: "</style><script>alert(1)</script>"};
    const text = html(model);
    expect(text).not.toMatch(/<script|<link|<img|<iframe|\bsrc=|url\((?!#)|@import|https?:(?!\/\/www\.w3\.org)/);
    expect(text).toContain("Back &lt;b&gt;40&lt;/b&gt; &amp; &quot;more&quot;");
    expect(text.match(/<style>/g)).toHaveLength(1);
  });

  it("tells nothing by colour: every ink is a grey", () => {
    const svg = layOutSheet(anyModel(2)).whole.svg;
    const colours = [...svg.matchAll(/#([0-9a-f]{3}|[0-9a-f]{6})\b/g)].map(([, hex = ""]) =>
      hex.length === 3 ? [...hex].map((c) => c + c).join("") : hex,
    );
    for (const hex of colours) {
      const [r, g, b] = [0, 2, 4].map((i) => Number.parseInt(hex.slice(i, i + 2), 16)) as [number, number, number];
      // The frame's scale bar and arrow are the house ink, a grey with a breath of green.
      expect(Math.max(r, g, b) - Math.min(r, g, b)).toBeLessThanOrEqual(15);
    }
  });

  it("is the same bytes for the same plan", () => {
    expect(html(anyModel(4))).toBe(html(anyModel(4)));
  });
});

function unit(id: string, width: number, south: number, north: number) {
  const ring = [
    {x: 0, y: south},
    {x: width, y: south},
    {x: width, y: north},
    {x: 0, y: north},
    {x: 0, y: south},
  ];
  return {
    id,
    label: id,
    shape: [[ring]],
    area: squareMetres(width * (north - south)),
    cores: [{number: 1, x: 9, y: (south + north) / 2}],
  };
}

const middle = ({west, east, north, south}: Box) => ({x: (west + east) / 2, y: (north + south) / 2});

/** Paper back to ground, found from the dots of two cores. */
function scaleOf({plan}: SamplingSheetModel, {svg}: SamplingMap) {
  const dots = [...svg.matchAll(/<circle cx="([\d.]+)" cy="([\d.]+)" r="1\./g)].map(([, x, y]) => ({
    x: Number(x),
    y: Number(y),
  }));
  const cores = bagsOf(plan).flatMap((bag) => bag.cores);
  expect(dots).toHaveLength(cores.length);
  const far = cores.reduce((best, core, i) => (core.x > (cores[best]?.x ?? 0) ? i : best), 0);
  const near = cores.reduce((best, core, i) => (core.x < (cores[best]?.x ?? 0) ? i : best), 0);
  const [a, b] = [cores[near], cores[far]] as [{x: number; y: number}, {x: number; y: number}];
  const [p, q] = [dots[near], dots[far]] as [{x: number; y: number}, {x: number; y: number}];
  const metresPerPoint = (b.x - a.x) / (q.x - p.x);
  return (at: {x: number; y: number}) => ({
    x: a.x + (at.x - p.x) * metresPerPoint,
    y: a.y - (at.y - p.y) * metresPerPoint,
  });
}
