import type {Grid} from "../grid/grid.ts";
import type {Layer} from "../grid/layer.ts";
import {calinskiHarabasz} from "../stats/cluster-indices.ts";
import {everyNthRow, type Points, sortRows} from "../stats/cluster-points.ts";
import {fuzzyCMeans} from "../stats/fuzzy-cmeans.ts";
import {fuzzyIndices} from "../stats/fuzzy-indices.ts";
import {kMeans} from "../stats/kmeans.ts";
import {silhouette} from "../stats/silhouette.ts";
import {varianceExplained} from "../stats/variance-explained.ts";
import {type SquareMetres, squareMetres} from "../units/quantity.ts";
import {completePoints} from "./cluster-cells.ts";
import {type HeldOutShare, heldOutShare, otherHalfShare, shiftsFor} from "./count-held-out.ts";
import type {FeatureMatrix} from "./feature-matrix.ts";
import {labelByCentres} from "./label-cells.ts";
import type {ZoneSettings} from "./zone-options.ts";

/** One number of zones and what speaks for and against it. Indices that need two clusters are NaN for one zone. */
export interface CountRow {
  readonly count: number;
  /** Fuzziness performance index, 0 crisp to 1 uniform. */
  readonly fpi: number;
  /** Classification entropy over ln c: 0 crisp to 1 uniform. */
  readonly entropyByLog: number;
  /** Classification entropy over 1 - c/n; grows with c. */
  readonly entropyBySize: number;
  /** -1 to 1, large is good; of a sample of cells. */
  readonly silhouette: number;
  /** Large is good. */
  readonly calinskiHarabasz: number;
  /** Share of the variance of the clustering layers explained, as clustered and after tidying. */
  readonly explained: {readonly clustered: number; readonly tidied: number};
  readonly heldOut: HeldOutShare;
  /** Smallest zone, all its pieces together. */
  readonly smallest: {readonly clustered: SquareMetres; readonly tidied: SquareMetres};
  /** Zones that tidying leaves. */
  readonly left: number;
  /** Areas of the zones left, in no order. */
  readonly areas: readonly SquareMetres[];
}

/** The matrix of layers made without one layer, to be explained by zones from it. */
export interface MatrixWithout {
  readonly layer: Layer;
  readonly matrix: FeatureMatrix;
}

/** Fuzzy centres and indices are means over cells: so many, spread over all values, tell them to the third decimal. */
const MOST_FUZZY = 4000;

/** Zones that are only to be judged by need fewer starts than zones to be drawn. */
const RESTARTS_TO_JUDGE = 4;

/** Every count that the layers can tell apart, one zone first; each is worked out when it is asked for. */
export function* countRows(
  grid: Grid,
  matrix: FeatureMatrix,
  without: readonly MatrixWithout[],
  counts: readonly number[],
  settings: ZoneSettings & {readonly draws: number},
): Generator<CountRow, void> {
  const points = sortRows(completePoints(matrix, settings.seed)).points;
  const fuzzy = fewRows(points);
  const others = without.map(({layer, matrix: other}) => ({
    layer,
    matrix: other,
    points: sortRows(completePoints(other, settings.seed)).points,
  }));
  const shifts = shiftsFor(grid, settings.draws, settings.seed);
  const toJudge = {...settings, restarts: Math.min(settings.restarts, RESTARTS_TO_JUDGE)};
  yield oneZone(grid, matrix);
  for (const count of counts) {
    const labelled = labelsFor(grid, matrix, points, count, settings);
    if (!labelled) break;
    const {centres, labels, clustered, tidied} = labelled;
    const tried = others.flatMap(({layer, matrix: other, points: their}) => {
      const found = labelsFor(grid, other, their, count, toJudge);
      return found ? [{layer, zones: found.tidied}] : [];
    });
    const {fpi, entropyByLog, entropyBySize} = fuzzyIndices(fuzzyCMeans(fuzzy, centres).memberships, count);
    const share = (map: Uint8Array): number =>
      varianceExplained(
        matrix,
        Uint8Array.from(matrix.cells, (cell) => map[cell] as number),
      );
    const areas = areasOf(grid, tidied);
    yield {
      count,
      fpi,
      entropyByLog,
      entropyBySize,
      silhouette: silhouette(points, labels, {seed: settings.seed}),
      calinskiHarabasz: calinskiHarabasz(points, labels),
      explained: {clustered: share(clustered), tidied: share(tidied)},
      heldOut:
        tried.length > 0
          ? heldOutShare(grid, tried, shifts)
          : {explained: otherHalfShare(grid, matrix, count, toJudge)},
      smallest: {clustered: least(areasOf(grid, clustered)), tidied: least(areas)},
      left: areas.length,
      areas,
    };
  }
}

function oneZone(grid: Grid, {cells}: FeatureMatrix): CountRow {
  const area = squareMetres(cells.length * grid.cellSize ** 2);
  return {
    count: 1,
    fpi: Number.NaN,
    entropyByLog: Number.NaN,
    entropyBySize: Number.NaN,
    silhouette: Number.NaN,
    calinskiHarabasz: Number.NaN,
    explained: {clustered: 0, tidied: 0},
    heldOut: {explained: 0},
    smallest: {clustered: area, tidied: area},
    left: 1,
    areas: [area],
  };
}

/** Labels of cells, and of the rows fitted; nothing when the layers do not tell so many kinds apart. */
function labelsFor(
  grid: Grid,
  matrix: FeatureMatrix,
  points: Points,
  count: number,
  settings: ZoneSettings,
): {centres: Float64Array; labels: Int32Array; clustered: Uint8Array; tidied: Uint8Array} | undefined {
  if (points.values.length / points.dims < count) return undefined;
  const {centres: crisp, labels} = kMeans(points, count, settings);
  if (crisp.length / points.dims < count) return undefined;
  const centres = settings.method === "fuzzy" ? fuzzyCMeans(fewRows(points), crisp).centres : crisp;
  const {clustered, labels: tidied} = labelByCentres(grid, matrix, centres, {...settings, count});
  return {centres, labels, clustered, tidied};
}

function fewRows(points: Points): Points {
  return everyNthRow(points, Math.max(1, Math.ceil(points.values.length / points.dims / MOST_FUZZY)));
}

function areasOf(grid: Grid, zones: Uint8Array): SquareMetres[] {
  const cells = new Map<number, number>();
  for (const zone of zones) if (zone !== 0) cells.set(zone, (cells.get(zone) ?? 0) + 1);
  return [...cells.values()].map((n) => squareMetres(n * grid.cellSize ** 2));
}

function least(areas: readonly SquareMetres[]): SquareMetres {
  return squareMetres(areas.reduce<number>((a, b) => Math.min(a, b), Infinity));
}
