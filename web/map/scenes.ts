import type {Feature, FeatureCollection} from "geojson";
import {formatNumber, formatShort} from "../../src/units/format.ts";
import type {LayerCard, ProductCard, ResultCard, Strategy, StrategyCard} from "../api/types.ts";
import {page} from "../state/field.ts";
import {shapesOf} from "../state/shapes.ts";
import {pooledTest, testsOf} from "../state/tests.ts";
import type {Show} from "../state/view.ts";
import {figures, say, unitOf} from "../units/shown.ts";
import {HATCH_NONE, hatchOfZone} from "./hatches.ts";
import {labelFeatures} from "./label-features.ts";
import {pictureOf} from "./layer-picture.ts";
import {differenceColour, rampColour, rampSteps, zoneTint} from "./ramps.ts";
import {type Legend, NOTHING, type Scene} from "./scene.ts";

// From a result and what is to be shown to what each map draws. Reads signals: call it where a change should redraw.

export interface Wanted {
  readonly result: ResultCard;
  readonly show: Show;
  readonly product: ProductCard | undefined;
  /** Whose soil tests: the product's, or without products one the lab reports. */
  readonly nutrient: string | undefined;
  readonly layer: LayerCard | undefined;
}

export const NAMES: Readonly<Record<Strategy, string>> = {"whole-field": "Whole field", grid: "Grid", zone: "Zones"};
export const NUTRIENT_NAMES: Readonly<Record<string, string>> = {
  P2O5: "Phosphate",
  K2O: "Potash",
  N: "Nitrogen",
  lime: "Lime",
};
const ELEMENTS: Readonly<Record<string, string>> = {P2O5: "P", K2O: "K"};

/** The product on show, by its place in the list of the first strategy that has any. */
export function productsOf(result: ResultCard): readonly ProductCard[] {
  return result.strategies.find(({products}) => products.length > 0)?.products ?? [];
}

/** Nutrients there are soil tests to show of: those the products are for, or before there are any those reported. */
export function nutrientsOf(result: ResultCard): readonly string[] {
  const products = productsOf(result);
  if (products.length > 0) return products.map(({purpose}) => purpose);
  if (!hasTests(result)) return [];
  return [...new Set((testsOf(result.id) ?? []).map(({nutrient}) => nutrient))];
}

const hasTests = ({strategies}: ResultCard): boolean => strategies.some(({tested = 0}) => tested > 0);

export function sceneOf(strategy: Strategy, wanted: Wanted): Scene {
  const card = wanted.result.strategies.find((one) => one.strategy === strategy);
  if (!card) return bare(strategy, undefined, "not part of this job");
  switch (wanted.show) {
    case "rate":
      return rateScene(card, wanted);
    case "test":
      return testScene(card, wanted);
    case "zones":
      return zonesScene(card, wanted);
    case "plan":
      return planScene(card, wanted);
    case "difference":
      return differenceScene(card, wanted);
    case "layer":
      return layerScene(card, wanted);
  }
}

export function legendOf({result, show, product, nutrient: tested, layer}: Wanted): Legend | undefined {
  if (show === "rate" && product) {
    return ramp(`${unitOf("lb/ac")} of ${product.analysis}`, "rate", "0", rateWords(mostRate(result, product)));
  }
  if (show === "test" && tested) {
    const tests = (testsOf(result.id) ?? []).filter(({nutrient}) => nutrient === tested);
    const values = tests.map(({test}) => test.value);
    if (values.length === 0) return undefined;
    const {unit, method} = (tests[0] as (typeof tests)[number]).test;
    const title = `soil-test ${ELEMENTS[tested] ?? tested}, ${unit}, ${method}`;
    return ramp(title, "test", formatNumber(Math.min(...values)), formatNumber(Math.max(...values)));
  }
  if (show === "difference" && product) {
    const most = mostDifference(result, product);
    return {
      title: `${unitOf("lb/ac")} of ${product.analysis} against ${NAMES[result.comparison.baseline].toLowerCase()}`,
      steps: rampSteps("difference"),
      least: `−${rateWords(most)}`,
      most: `+${rateWords(most)}`,
    };
  }
  if (show === "layer" && layer) {
    if (layer.classes) return classLegend(layer, layer.classes);
    const decimals = layer.most < 20 ? 2 : 1;
    const ends = {least: layerWords(layer, layer.least, decimals), most: layerWords(layer, layer.most, decimals)};
    return {title: unitOf(layer.unit), steps: pictureSteps(layer), ...ends};
  }
  if ((show === "zones" || show === "plan") && result.zones && result.zones.length > 0)
    return zonesLegend(result, result.zones);
  return undefined;
}

/** Zones are made of pieces all over the field: their acres stand here, not on the pieces. */
function zonesLegend(result: ResultCard, zones: NonNullable<ResultCard["zones"]>): Legend {
  const classes = zones.map(({id, acres}) => ({
    name: `zone ${id}, ${say(acres, "ac")}${inPieces(result, id)}`,
    colour: zoneTint(id, zones.length),
    hatch: hatchOfZone(id),
  }));
  return {title: "", steps: [], least: "", most: "", classes};
}

function inPieces(result: ResultCard, zone: number): string {
  const shape = named(result, "zones").features.find(({properties}) => properties?.zone === zone)?.geometry;
  const pieces = shape?.type === "MultiPolygon" ? shape.coordinates.length : 1;
  return pieces > 1 ? ` in ${pieces} pieces` : "";
}

/** As the picture has them: classes share out the ramp in their order. */
function classLegend(layer: LayerCard, names: readonly string[]): Legend {
  const classes = names.map((name, i) => ({name, colour: rampColour("test", i, 0, Math.max(1, names.length - 1))}));
  return {title: layer.label, steps: [], least: "", most: "", classes};
}

function pictureSteps({theme}: LayerCard): string[] {
  if (theme === "yield") return rampSteps("rate");
  return theme === "terrain" ? ["#f0ede8", "#d5cdc2", "#b0a596", "#8a7d6d", "#655a4c", "#40382f"] : rampSteps("test");
}

function ramp(title: string, name: "rate" | "test", least: string, most: string): Legend {
  return {title, steps: rampSteps(name), least, most};
}

const rateWords = (lbPerAcre: number): string => figures(lbPerAcre, "lb/ac");
/** Without decimals, but for hectares, which are larger. */
const wholeAcres = (acres: number): string => figures(acres, "ac", unitOf("ac") === "ac" ? {decimals: 0} : {});
const layerWords = ({unit}: LayerCard, value: number, decimals: number): string =>
  figures(value, unit, {decimals, short: true});

function rateScene(card: StrategyCard, {result, product}: Wanted): Scene {
  const column = card.products.find(({code}) => code === product?.code)?.column;
  if (!column || !product) return bare(card.strategy, unitsOf(card, result), noRates(card, result));
  const most = mostRate(result, product);
  const units = unitsOf(card, result);
  const zones = zoneOfUnit(units);
  const shapes = ratesOf(result, card, column);
  const rates = new Set<number>();
  const areas = shapes.features.map((feature): Feature => {
    const rate = Number(feature.properties?.[column] ?? 0);
    const fill = rampColour("rate", rate, 0, most);
    rates.add(rate);
    const unit = unitIn(feature, units, card);
    const properties = {unit, fill, text: rateWords(rate), edge: true, ...(rate === 0 && {hatch: HATCH_NONE})};
    return {type: "Feature", geometry: feature.geometry, properties};
  });
  const labels = areas.flatMap(({geometry, properties}) => {
    const zone = zones.get(properties?.unit);
    return labelFeatures(geometry, {
      text: properties?.text,
      on: properties?.fill,
      ...(card.strategy === "zone" && zone !== undefined && {ring: String(zone)}),
    });
  });
  const count = rates.size === 1 ? "one rate" : `${rates.size} rates`;
  return {
    ...bare(card.strategy, card.pooled ? units : NOTHING, `${many(card.units, "bag")}, ${count}`),
    areas: collect(areas),
    labels: collect(labels),
    lines: "paper",
    spoken: `${NAMES[card.strategy]}: ${product.analysis}, ${spanOf([...rates], rateWords)} ${unitOf("lb/ac")}, ${count}.`,
  };
}

/** What one map shows, which its ramp shares with others: "220", or "0 to 260". */
function spanOf(values: readonly number[], words: (value: number) => string): string {
  const [least, most] = [Math.min(...values), Math.max(...values)];
  if (values.length === 0) return "being fetched";
  return least === most ? words(least) : `${words(least)} to ${words(most)}`;
}

const noRates = ({tested}: StrategyCard, result: ResultCard): string =>
  tested === 0 && hasTests(result) ? "no rates: no lab results" : "no rates yet";

function testScene(card: StrategyCard, {result, nutrient: tested}: Wanted): Scene {
  const units = unitsOf(card, result);
  const all = tested ? (testsOf(result.id) ?? []).filter(({nutrient}) => nutrient === tested) : [];
  const mine = all.filter(({strategy}) => strategy === card.strategy);
  const mean = card.pooled ? pooledTest(result.id, card.strategy, tested ?? "") : undefined;
  if (mine.length === 0 && !mean) return bare(card.strategy, units, whyNoTests(card, result));
  const values = [...all.map(({test}) => test.value), ...(mine.length === 0 && mean ? [mean.value] : [])];
  const [least, most] = [Math.min(...values), Math.max(...values)];
  const byUnit = new Map(mine.map((one) => [one.unit, one]));
  const areas: Feature[] = [];
  const labels: Feature[] = [];
  const shown: number[] = [];
  for (const feature of units.features) {
    const bag = String(feature.id ?? feature.properties?.sample);
    const unit = card.pooled ? "whole field" : bag;
    // Bags measured otherwise than their mean is read show the mean.
    const test = byUnit.get(bag)?.test ?? (mine.length === 0 ? mean : undefined);
    if (!test) continue;
    shown.push(test.value);
    const fill = rampColour("test", test.value, least, most);
    const zone = feature.properties?.zone as number | undefined;
    const {geometry} = feature;
    areas.push({type: "Feature", geometry, properties: {unit, fill, edge: true}});
    const ring = card.strategy === "zone" && zone !== undefined ? {ring: String(zone)} : {};
    const text = `${test.qualifier ?? ""}${formatShort(test.value, 1)}`;
    labels.push(...labelFeatures(geometry, {text, on: fill, ...ring}));
  }
  const bags = many(card.units, "bag");
  const note = mean ? `${bags}, mean ${formatShort(mean.value, 1)} ${mean.unit}` : bags;
  return {
    ...bare(card.strategy, card.pooled ? units : NOTHING, note),
    areas: collect(areas),
    labels: collect(labels),
    lines: "paper",
    spoken: `${NAMES[card.strategy]}: soil tests of ${note}, ${spanOf(shown, formatNumber)}.`,
  };
}

function whyNoTests({tested = 0}: StrategyCard, result: ResultCard): string {
  if (tested > 0) return "no soil test of this nutrient";
  if (hasTests(result)) return "no lab results for this plan";
  // Plans alone were worked out, because rates could not be: the report is there and not read.
  return result.upTo === "plan" && page.value?.job.lab !== undefined ? "lab results not read yet" : "no soil tests yet";
}

function zonesScene(card: StrategyCard, {result}: Wanted): Scene {
  const units = unitsOf(card, result);
  const {areas, labels} = zoneGround(result);
  const count = result.zones?.length ?? 0;
  const acres = (result.zones ?? []).map((zone) => wholeAcres(zone.acres)).join(", ");
  const zones = many(count, "zone");
  const note =
    card.strategy === "zone" ? `${zones}: ${acres} ${unitOf("ac")}` : `${many(card.units, "bag")} over ${zones}`;
  return {
    ...bare(card.strategy, units, count > 0 ? note : "no zones yet"),
    areas,
    labels,
    spoken: `${NAMES[card.strategy]}: ${note}.`,
  };
}

function planScene(card: StrategyCard, {result}: Wanted): Scene {
  const units = unitsOf(card, result);
  const ground = card.strategy === "zone" ? zoneGround(result).areas : NOTHING;
  const plain = units.features.map((feature): Feature => {
    const unit = card.pooled ? "whole field" : String(feature.id ?? feature.properties?.sample);
    return {type: "Feature", geometry: feature.geometry, properties: {unit, fill: "rgba(0,0,0,0)"}};
  });
  const labels = units.features.flatMap(({geometry, properties, id}) =>
    labelFeatures(geometry, {text: shortId(String(properties?.sample ?? id)), on: "#fffdf8"}).slice(0, 1),
  );
  return {
    ...bare(card.strategy, units, `${many(card.units, "bag")}, ${many(card.cores, "core")}`),
    areas: collect([...ground.features, ...plain]),
    labels: collect(labels),
    cores: named(result, `plan-${card.strategy}-cores`),
    spoken: `${NAMES[card.strategy]}: sampling plan, ${many(card.units, "bag")}, ${many(card.cores, "core")}.`,
  };
}

function differenceScene(card: StrategyCard, {result, product}: Wanted): Scene {
  const units = unitsOf(card, result);
  const {baseline} = result.comparison;
  if (card.strategy === baseline) return bare(card.strategy, units, "the baseline");
  const found = result.evidence?.differences.find(
    ({strategy, against, analysis}) =>
      analysis === product?.analysis &&
      [strategy, against].includes(card.strategy) &&
      [strategy, against].includes(baseline),
  );
  if (!found || !product) {
    const isRated = card.products.length > 0;
    return bare(card.strategy, units, isRated ? "working out how sure it is" : noRates(card, result));
  }
  const sign = found.strategy === card.strategy ? 1 : -1;
  const most = mostDifference(result, product);
  const areas = named(result, found.shapes).features.map((feature): Feature => {
    const value = sign * differenceIn(feature);
    const text = `${value > 0 ? "+" : ""}${rateWords(value)}`;
    const unit = String(feature.properties?.[sign > 0 ? "unit" : "againstUnit"] ?? "");
    return {type: "Feature", geometry: feature.geometry, properties: {unit, fill: differenceColour(value, most), text}};
  });
  const labels = areas.flatMap(({geometry, properties}) =>
    labelFeatures(geometry, {text: properties?.text, on: properties?.fill}),
  );
  const [more, less] = sign > 0 ? [found.acresMore, found.acresLess] : [found.acresLess, found.acresMore];
  const note = `more on ${wholeAcres(more)} ${unitOf("ac")}, less on ${wholeAcres(less)} ${unitOf("ac")}`;
  return {
    ...bare(card.strategy, card.strategy === "grid" ? units : NOTHING, note),
    areas: collect(areas),
    labels: collect(labels),
    spoken: `${NAMES[card.strategy]} against ${NAMES[baseline].toLowerCase()}: ${note}.`,
  };
}

function layerScene(card: StrategyCard, {result, layer}: Wanted): Scene {
  const units = unitsOf(card, result);
  if (!layer) return bare(card.strategy, units, "no layers yet");
  const picture = pictureOf(result.id, layer);
  const means = card.strategy === "zone" ? zoneMeans(result, layer) : [];
  return {
    ...bare(
      card.strategy,
      units,
      card.strategy === "zone" && means.length > 0 ? "means of zones" : many(card.units, "bag"),
    ),
    labels: collect(means),
    lines: layer.theme === "yield" ? "paper" : "ink",
    ...(picture && {picture}),
    spoken: `${NAMES[card.strategy]} over ${layer.label}, ${layer.classes ? layer.classes.join(", ") : `${layerWords(layer, layer.least, 2)} to ${say(layer.most, layer.unit, {decimals: 2, short: true})}`}.`,
  };
}

/** The mean of a layer over each zone, written on it. */
function zoneMeans(result: ResultCard, layer: LayerCard): Feature[] {
  return named(result, "zones").features.flatMap(({geometry, properties}) => {
    const zone = result.zones?.find(({id}) => id === properties?.zone);
    const mean = zone?.means[layer.id];
    if (mean === undefined || mean === null) return [];
    return labelFeatures(geometry, {text: layerWords(layer, mean, 1), on: "#fffdf8", ring: String(properties?.zone)});
  });
}

function zoneGround(result: ResultCard): {areas: FeatureCollection; labels: FeatureCollection} {
  const shapes = named(result, "zones");
  const count = shapes.features.length;
  const areas: Feature[] = [];
  const labels: Feature[] = [];
  for (const {geometry, properties} of shapes.features) {
    const zone = Number(properties?.zone);
    const fill = zoneTint(zone, count);
    areas.push({
      type: "Feature",
      geometry,
      properties: {unit: `zone ${zone}`, fill, hatch: hatchOfZone(zone), edge: true},
    });
    labels.push(...labelFeatures(geometry, {text: "", on: fill, ring: String(zone)}));
  }
  return {areas: collect(areas), labels: collect(labels)};
}

function mostRate(result: ResultCard, {code}: ProductCard): number {
  return Math.max(
    0,
    ...result.strategies.flatMap(({products}) =>
      products.filter((one) => one.code === code).map((one) => one.mostLbPerAcre),
    ),
  );
}

function mostDifference(result: ResultCard, {analysis}: ProductCard): number {
  const own = result.evidence?.differences.filter((one) => one.analysis === analysis) ?? [];
  return Math.max(0, ...own.flatMap(({least, most}) => [Math.abs(least), Math.abs(most)]));
}

const differenceIn = ({properties}: Feature): number => Number(properties?.differenceLbPerAcre ?? 0);

/** The sampling unit a rate polygon belongs to; the second and later pieces of one have a number after its id. */
function unitIn(feature: Feature, units: FeatureCollection, card: StrategyCard): string {
  if (card.pooled) return "whole field";
  const id = String(feature.properties?.UNIT ?? feature.id);
  const known = new Set(units.features.map((unit) => String(unit.id ?? unit.properties?.sample)));
  return known.has(id) ? id : id.replace(/-\d+$/, "");
}

function zoneOfUnit(units: FeatureCollection): Map<string, number> {
  return new Map(
    units.features
      .filter(({properties}) => properties?.zone !== undefined && properties.zone !== null)
      .map(({id, properties}) => [String(id ?? properties?.sample), properties?.zone as number]),
  );
}

/** The shapes that hold a product's rates: lime and products spread apart have files of their own. */
function ratesOf(result: ResultCard, card: StrategyCard, column: string): FeatureCollection {
  const names = card.shapes.filter((name) => /^(rates|lime)-/.test(name));
  const all = names.map((name) => named(result, name));
  return all.find(({features}) => features.some(({properties}) => properties?.[column] !== undefined)) ?? NOTHING;
}

const unitsOf = (card: StrategyCard, result: ResultCard) => named(result, `plan-${card.strategy}-units`);

function named(result: ResultCard, name: string): FeatureCollection {
  return result.shapes.includes(name) ? (shapesOf(result.id, name) ?? NOTHING) : NOTHING;
}

function bare(strategy: Strategy, units: FeatureCollection | undefined, note: string): Scene {
  return {
    areas: NOTHING,
    units: units ?? NOTHING,
    labels: NOTHING,
    cores: NOTHING,
    lines: "ink",
    note,
    spoken: `${NAMES[strategy]}: ${note}.`,
  };
}

/** "G07" of "MRG07": the field's own letters say nothing within the field. */
const shortId = (id: string): string => /([GWZV]\d+[A-Z]?)$/.exec(id)?.[1] ?? id;

const collect = (features: readonly Feature[]): FeatureCollection => ({
  type: "FeatureCollection",
  features: [...features],
});
export const many = (count: number, one: string): string => `${formatNumber(count)} ${one}${count === 1 ? "" : "s"}`;
