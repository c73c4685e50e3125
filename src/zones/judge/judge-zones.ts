import {FieldError, type Issue} from "../../errors.ts";
import type {Grid} from "../../grid/grid.ts";
import type {Layer} from "../../grid/layer.ts";
import {adjustedRandIndex} from "../../stats/adjusted-rand.ts";
import {anova} from "../../stats/anova.ts";
import {meanDifferences} from "../../stats/anova-differences.ts";
import {type Feature, isClassLayer} from "../feature-matrix.ts";
import {compareWithNull, drawShifts, explainedUnderShifts, type PlacedValues, type Shift} from "../spatial-null.ts";
import type {Stability} from "../stability.ts";
import {evidenceOf, verdictOn} from "../verdict.ts";
import type {ZoneMap} from "../zone-map.ts";
import type {Explained, Judgement, KeptBack, Overall, ZoneDifference} from "./judgement.ts";
import {trendShare} from "./trend-share.ts";

/** A season and the zones that the others make. */
export interface SeasonLeftOut {
  readonly layer: Layer;
  /** Zone of each grid cell from 1 when made without this season; 0 outside. */
  readonly zones: Uint8Array;
}

export interface JudgeInput {
  readonly map: ZoneMap;
  /** The layers that the zones were made from. */
  readonly features: readonly Feature[];
  /** Each judged by the zones that were made without it. */
  readonly seasonsLeftOut?: readonly SeasonLeftOut[];
  /** Layers the zones had no part in: a later season, an image. */
  readonly layers?: readonly Layer[];
  /** Soil tests or other values at points; NaN and cells outside the field (-1) are left out. */
  readonly samples?: readonly PlacedValues[];
  readonly stability?: Stability;
}

export interface JudgeOptions {
  /** Zone maps laid by chance. Default 199: p is then known to 0.005. */
  readonly draws?: number | undefined;
  /** Any whole number. Default 1. */
  readonly seed?: number | undefined;
}

/** Past this share of one slope, maps slid by chance are too unlike the map: p comes out too small. By simulation. */
const STRONG_TREND = 0.6;

/** What tells most about nutrients leads. */
const KINDS = ["samples", "season", "layer"] as const;

/** Fewer samples than this say nothing of zones; own limit, no source. */
const LEAST_SAMPLES = 8;

/**
 * Whether a zone map tells anything that it was not told: what it explains of values kept back, against what the same
 * map explains when it is slid over the field by chance.
 *
 * Not a test of money: zones that explain yield may still not pay (see `compare`). Values side by side in a field are
 * alike whatever the zones, which is why no probability is worked out from the number of cells.
 *
 * @throws {FieldError} `zones/judge-option`.
 *
 * Randomness: `seed`; all comparisons share their shifts, so that their mean can be compared with the mean by chance.
 * Method, limits and sources: docs/methods/judging-zones.md.
 */
export function judgeZones(input: JudgeInput, options: JudgeOptions = {}): Judgement {
  const {map, features, seasonsLeftOut = [], layers = [], samples = [], stability} = input;
  const {draws = 199, seed = 1} = options;
  if (!(Number.isInteger(draws) && draws >= 19 && draws <= 99_999)) {
    throw new FieldError("zones/judge-option", `${draws} is not a number of zone maps to lay by chance.`, {
      hint: "Give 19 to 99,999; 199 tell p to 0.005.",
    });
  }
  const {grid, cells} = map;
  const issues: Issue[] = [];
  const shifts = drawShifts(grid, draws, seed);
  const tried: Tried[] = [
    ...seasonsLeftOut.map(({layer, zones}) => ({
      ...(tryOn(grid, zones, "season" as const, [inCells(layer, zones)], shifts)[0] as Tried),
      likeMap: likeness(cells, zones),
    })),
    ...tryOn(
      grid,
      cells,
      "layer",
      layers.map((layer) => inCells(layer, cells)),
      shifts,
    ),
    ...tryOn(grid, cells, "samples", enoughSamples(cells, samples, issues), shifts),
  ].filter(({found}) => found.count > 1);
  const overall = KINDS.flatMap((kind) => together(kind, tried, map.zones.length));
  const keptBack = tried.map(
    ({kind, values, zones, found, slid, likeMap}): KeptBack => ({
      ...found,
      kind,
      byChance: compareWithNull(found.explained, slid),
      ...(likeMap !== undefined && {likeMap}),
      ...(kind === "samples" && {differences: differencesBetween(values, zones)}),
    }),
  );
  const madeFrom = features.flatMap(({layer}) =>
    isClassLayer(layer) ? [] : [explainedBy(inCells(layer, cells), cells)],
  );
  issues.push(...trendIssues(grid, tried));
  const zones = map.zones.length;
  return {
    madeFrom,
    keptBack,
    overall,
    ...(stability && {stability}),
    evidence: overall[0]?.evidence ?? "unknown",
    verdict: verdictOn({zones, keptBack, overall, ...(stability && {stability})}),
    issues,
    options: {draws, resamples: stability?.draws ?? 0, blockM: stability?.blockM ?? Number.NaN, seed},
  };
}

interface Tried {
  readonly kind: KeptBack["kind"];
  readonly values: PlacedValues;
  readonly zones: Uint8Array;
  readonly found: Explained;
  readonly slid: Float64Array;
  readonly likeMap?: number;
}

function tryOn(
  grid: Grid,
  zones: Uint8Array,
  kind: KeptBack["kind"],
  values: readonly PlacedValues[],
  shifts: readonly Shift[],
): Tried[] {
  const {slid} = explainedUnderShifts(grid, zones, values, shifts);
  return values.map((one, i) => ({
    kind,
    values: one,
    zones,
    found: explainedBy(one, zones),
    slid: slid[i] as Float64Array,
  }));
}

/** A layer's values in the cells that have a zone. */
function inCells({id, label, unit, values}: Layer, zones: Uint8Array): PlacedValues {
  const cells = Int32Array.from(zones.keys()).filter((cell) => zones[cell] !== 0 && !Number.isNaN(values[cell]));
  return {id, label, unit, cells, values: Float64Array.from(cells, (cell) => values[cell] as number)};
}

function enoughSamples(zones: Uint8Array, samples: readonly PlacedValues[], issues: Issue[]): PlacedValues[] {
  return samples.flatMap(({id, label, unit, cells, values}) => {
    const inField = [...cells.keys()].filter(
      (i) => (cells[i] as number) >= 0 && zones[cells[i] as number] !== 0 && Number.isFinite(values[i] as number),
    );
    if (inField.length < LEAST_SAMPLES) {
      issues.push({
        code: "zones/few-samples",
        severity: "note",
        message: `${inField.length} samples of ${label} lie in the zones, too few to judge them by.`,
        hint: `Give at least ${LEAST_SAMPLES}, taken all over the field.`,
      });
      return [];
    }
    const pick = (from: ArrayLike<number>) => inField.map((i) => from[i] as number);
    return [{id, label, unit, cells: Int32Array.from(pick(cells)), values: Float64Array.from(pick(values))}];
  });
}

/** Values that mostly rise from one end of the field to the other. */
function trendIssues(grid: Grid, tried: readonly Tried[]): Issue[] {
  const steep = tried.filter(({values}) => trendShare(grid, values) > STRONG_TREND);
  if (steep.length === 0) return [];
  return [
    {
      code: "zones/strong-trend",
      severity: "warning",
      message: `${steep.map(({found}) => found.label).join(", ")}: mostly one slope from end to end of the field, which zones made from another slope explain by chance more often than p says.`,
      hint: "Read p as too small there; trust what is kept back of other kinds more.",
    },
  ];
}

/** Zones by number, with the difference of their means and what 95 % leave open. */
function differencesBetween({cells, values}: PlacedValues, zones: Uint8Array): ZoneDifference[] {
  const labels = Int32Array.from(cells, (cell) => zones[cell] as number);
  return meanDifferences(anova(values, labels), 0.95);
}

function explainedBy({id, label, unit, cells, values}: PlacedValues, zones: Uint8Array): Explained {
  const labels = Int32Array.from(cells, (cell) => (zones[cell] as number) - 1);
  const {eta2, epsilon2, omega2, means} = anova(values, labels);
  return {id, label, unit, count: values.length, explained: eta2, adjusted: epsilon2, omega2, means: [...means]};
}

function likeness(cells: Uint8Array, zones: Uint8Array): number {
  const both = Int32Array.from(cells.keys()).filter((cell) => cells[cell] !== 0 && zones[cell] !== 0);
  return adjustedRandIndex(
    both.map((cell) => cells[cell] as number),
    both.map((cell) => zones[cell] as number),
  );
}

/** The mean over all of a kind, compared with the same mean under each shift. */
function together(kind: KeptBack["kind"], all: readonly Tried[], zones: number): Overall[] {
  const tried = all.filter((one) => one.kind === kind);
  const [first] = tried;
  if (!first) return [];
  const mean = (of: (one: Tried) => number): number => tried.reduce((sum, one) => sum + of(one), 0) / tried.length;
  const explained = mean(({found}) => found.explained);
  const byChance = compareWithNull(
    explained,
    first.slid.map((_, s) => mean((one) => one.slid[s] as number)),
  );
  return [{kind, explained, byChance, count: tried.length, evidence: evidenceOf(zones, explained, byChance.p)}];
}
