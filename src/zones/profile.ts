import {cellCount, type Grid} from "../grid/grid.ts";
import {nearestCells} from "../grid/nearest-cell.ts";
import {finite, quantiles} from "../stats/robust.ts";
import type {SquareMetres} from "../units/quantity.ts";
import {type Feature, isClassLayer} from "./feature-matrix.ts";
import type {ZoneMap} from "./zone-map.ts";

/** What a layer is like in one zone, in the layer's unit. */
export interface LayerInZone {
  readonly mean: number;
  /** Standard deviation over the zone's cells (n − 1). */
  readonly sd: number;
  /** Nine tenths of the zone's cells lie between. */
  readonly low: number;
  readonly high: number;
  /** Share of the zone's cells in the lowest, the middle and the highest third of the field's. */
  readonly thirds: readonly [number, number, number];
}

export interface ZoneProfile {
  readonly id: number;
  readonly label: string;
  readonly area: SquareMetres;
  /** Of the field, 0 to 1. */
  readonly share: number;
  /** Separate pieces the zone lies in. */
  readonly pieces: number;
  /** Share of the zone farther than a swath from any other zone: ground that surely gets the zone's own rate. */
  readonly core: number;
  /** By layer id. NaN throughout where the zone has no data of the layer. */
  readonly layers: Readonly<Record<string, LayerInZone>>;
  readonly classShares: Readonly<Record<string, Readonly<Record<string, number>>>>;
  /** Where it lies by relative elevation, in words; left out without such a layer. */
  readonly position?: string;
}

/**
 * Each zone in numbers: its size, what every layer is like in it, how much of it is clear of its neighbours.
 *
 * @param swathM - Width of the machine, metres.
 * @param elevationId - Layer to read the position from.
 */
export function profileZones(
  map: ZoneMap,
  features: readonly Feature[],
  swathM: number,
  elevationId = "relative-elevation",
): ZoneProfile[] {
  const numeric = features.flatMap(({layer}) => (isClassLayer(layer) ? [] : [layer]));
  const limits = new Map(numeric.map(({id, values}) => [id, thirdsOf(values, map.cells)]));
  const core = coreShares(map.grid, map.cells, map.zones.length, swathM);
  const whole = map.zones.reduce((sum, {area}) => sum + area, 0);
  return map.zones.map(({id, label, area, shape, classShares}) => {
    const layers = Object.fromEntries(
      numeric.map((layer) => [layer.id, inZone(layer.values, map.cells, id, limits.get(layer.id) as [number, number])]),
    );
    const elevation = layers[elevationId];
    return {
      id,
      label,
      area,
      share: area / whole,
      pieces: shape.length,
      core: core[id - 1] as number,
      layers,
      classShares: classShares ?? {},
      ...(elevation && !Number.isNaN(elevation.mean) && {position: positionOf(elevation.thirds)}),
    };
  });
}

function thirdsOf(values: Float64Array, cells: Uint8Array): [number, number] {
  const inField = finite(values.map((v, cell) => (cells[cell] ? v : Number.NaN)));
  return inField.length > 0 ? (quantiles(inField, [1 / 3, 2 / 3]) as [number, number]) : [Number.NaN, Number.NaN];
}

function inZone(values: Float64Array, cells: Uint8Array, zone: number, [first, second]: [number, number]): LayerInZone {
  const own = finite(values.map((v, cell) => (cells[cell] === zone ? v : Number.NaN)));
  if (own.length === 0) {
    const none = Number.NaN;
    return {mean: none, sd: none, low: none, high: none, thirds: [none, none, none]};
  }
  const mean = own.reduce((sum, v) => sum + v, 0) / own.length;
  const squares = own.reduce((sum, v) => sum + (v - mean) ** 2, 0);
  const [low, high] = quantiles(own, [0.05, 0.95]) as [number, number];
  const lowest = own.filter((v) => v <= first).length / own.length;
  const highest = own.filter((v) => v > second).length / own.length;
  return {
    mean,
    sd: Math.sqrt(squares / Math.max(1, own.length - 1)),
    low,
    high,
    thirds: [lowest, 1 - lowest - highest, highest],
  };
}

/** More than half in one third is told by it; own rule, no source. */
function positionOf(thirds: LayerInZone["thirds"]): string {
  const most = thirds.indexOf(Math.max(...thirds));
  return (thirds[most] as number) > 0.5 ? (["low ground", "middle ground", "high ground"][most] as string) : "mixed";
}

/** Share of each zone's cells with no cell of another zone within a distance; the field's edge is no neighbour. */
function coreShares(grid: Grid, cells: Uint8Array, count: number, distanceM: number): number[] {
  const reach = distanceM / grid.cellSize;
  return Array.from({length: count}, (_, i) => {
    const other = new Uint8Array(cellCount(grid));
    cells.forEach((zone, cell) => {
      if (zone !== 0 && zone !== i + 1) other[cell] = 1;
    });
    const nearest = nearestCells(grid, other);
    let own = 0;
    let clear = 0;
    cells.forEach((zone, cell) => {
      if (zone !== i + 1) return;
      own++;
      const near = nearest[cell] as number;
      const away =
        near === -1
          ? Infinity
          : Math.hypot(
              (near % grid.cols) - (cell % grid.cols),
              Math.floor(near / grid.cols) - Math.floor(cell / grid.cols),
            );
      if (away > reach) clear++;
    });
    return own > 0 ? clear / own : Number.NaN;
  });
}
