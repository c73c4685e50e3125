import {createHash} from "node:crypto";
import {boxInLonLat} from "../geo/frame.ts";
import {boxOf} from "../geo/measure.ts";
import type {Layer} from "../grid/layer.ts";
import type {StrategyRun} from "../pipeline/run.ts";
import {rateColumn} from "../pipeline/to-features.ts";
import {plainJudgement} from "../pipeline/zone-outputs.ts";
import type {BuiltPrescription, Purpose} from "../prescription/prescription.ts";
import {acresByRate} from "../report/applicator-sheet.ts";
import {planMark} from "../sampling/plan-mark.ts";
import {SQUARE_METRES_PER_ACRE} from "../units/factors.ts";
import type {
  DifferenceCard,
  EvidenceCard,
  JudgementCard,
  LayerCard,
  ProductCard,
  ResultCard,
  StrategyCard,
  ZoneCard,
} from "./api-types.ts";
import type {Made, Viewed} from "./make-results.ts";
import {differencesOf, shapeNames} from "./shapes.ts";

/** A result without what only the server knows of it. */
export type CardOfRun = Omit<ResultCard, "id" | "field" | "version" | "upTo" | "madeAt">;

/** What a page shows of a result, shapes and pictures aside. */
export function cardOf(made: Omit<Made, "card">): CardOfRun {
  const {run, outputs, field} = made;
  const {comparison, evidence, strategies, layers, zoneMap, zones, judgement, labSentences, issues} = run;
  const {west, south, east, north} = boxInLonLat(field.frame, boxOf(field.outline));
  const shapes = shapeNames(made);
  return {
    box: [west, south, east, north],
    comparison,
    ...(evidence && {evidence: {...evidence, differences: differenceCards(made)} satisfies EvidenceCard}),
    strategies: strategies.map((strategy) => strategyCard(strategy, shapes)),
    layers: layers ? layersOf(made).map(layerCard) : [],
    ...(zoneMap && {
      zones: zoneMap.zones.map(
        ({id, label, area, means}): ZoneCard => ({id, label, acres: area / SQUARE_METRES_PER_ACRE, means}),
      ),
      varianceExplained: zoneMap.varianceExplained,
    }),
    ...(judgement && {judgement: plainJudgement(judgement) as JudgementCard}),
    ...(zones?.choice && {choice: zones.choice}),
    edits: zones?.edits ?? [],
    moves: run.moves,
    receipts: strategies.flatMap(({plan, receipts}) =>
      receipts.map((receipt) => ({...receipt, strategy: plan.strategy})),
    ),
    labSentences,
    outputs: [...outputs].map(([name, bytes]) => ({
      name,
      bytes: bytes.length,
      sha256: createHash("sha256").update(bytes).digest("hex"),
    })),
    shapes,
    issues,
  };
}

/** A layer to be looked at: those zones are made from, then the seasons, then what was asked for beside them. */
export interface SeenLayer {
  readonly id: string;
  readonly layer: Layer;
  readonly theme: LayerCard["theme"];
  readonly used: boolean;
}

export function layersOf({run}: Pick<Viewed, "run">): SeenLayer[] {
  const {layers} = run;
  if (!layers) return [];
  const all: Omit<SeenLayer, "id">[] = [
    ...layers.features.map(({layer, theme}) => ({layer, theme, used: true})),
    ...layers.seasons.map(({layer}) => ({layer, theme: "yield" as const, used: false})),
    ...layers.shown.map((layer) => ({layer, theme: "terrain" as const, used: false})),
  ];
  const seen = new Map<string, SeenLayer>();
  for (const one of all) if (!seen.has(one.layer.id)) seen.set(one.layer.id, {...one, id: one.layer.id});
  return [...seen.values()];
}

/** Smallest and largest value; NaN for a layer without any. */
export function rangeOf({values}: Layer): {least: number; most: number} {
  let [least, most] = [Infinity, -Infinity];
  for (const value of values) {
    if (value < least) least = value;
    if (value > most) most = value;
  }
  return least > most ? {least: Number.NaN, most: Number.NaN} : {least, most};
}

/** Names of the classes of a class layer. */
export function classesOf(layer: Layer): readonly string[] | undefined {
  return "classes" in layer ? (layer.classes as readonly string[]) : undefined;
}

function layerCard({id, layer, theme, used}: SeenLayer): LayerCard {
  const classes = classesOf(layer);
  return {id, label: layer.label, unit: layer.unit, theme, ...rangeOf(layer), ...(classes && {classes}), used};
}

function strategyCard({plan, values, prescriptions, limeRates}: StrategyRun, shapes: readonly string[]): StrategyCard {
  const {strategy, pooled, units, walk} = plan;
  return {
    strategy,
    pooled,
    mark: planMark(plan),
    units: units.length,
    cores: units.reduce((sum, {cores}) => sum + cores.length, 0),
    ...(walk !== undefined && {walkM: walk}),
    tested: units.filter(({id}) => (values.get(id) ?? []).length > 0).length,
    products: [...prescriptions, ...(limeRates ? [limeRates] : [])].map(productCard),
    shapes: shapes.filter((name) => new RegExp(`^(plan|rates)-${strategy}(-|$)`).test(name)),
  };
}

function productCard({product, nutrient, polygons, totals, supply}: BuiltPrescription<Purpose>): ProductCard {
  const rates = polygons.map(({rateLbPerAcre}) => rateLbPerAcre);
  return {
    code: product.code,
    name: product.name,
    analysis: product.analysis,
    purpose: nutrient,
    column: rateColumn(product.code),
    leastLbPerAcre: rates.reduce((a, b) => Math.min(a, b), Infinity),
    mostLbPerAcre: rates.reduce((a, b) => Math.max(a, b), -Infinity),
    meanLbPerAcre: totals.meanLbPerAcre,
    totalLb: totals.productLb,
    byRate: acresByRate(polygons).map(([lbPerAcre, acres]) => ({
      lbPerAcre,
      acres,
      polygons: rates.filter((rate) => rate === lbPerAcre).length,
    })),
    ...(supply.loads && {loads: supply.loads}),
  };
}

function differenceCards(made: Pick<Viewed, "run" | "job">): DifferenceCard[] {
  return differencesOf(made).map(({name, map: {pieces, ...sums}}) => {
    const differences = pieces.map(({differenceLbPerAcre}) => differenceLbPerAcre);
    return {
      ...sums,
      shapes: name,
      least: differences.reduce((a, b) => Math.min(a, b), Infinity),
      most: differences.reduce((a, b) => Math.max(a, b), -Infinity),
    };
  });
}
