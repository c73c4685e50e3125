import {roundStep} from "./scale.ts";

/** Ground that gets one rate, both in the units shown. */
export interface RateArea {
  readonly rate: number;
  readonly area: number;
  readonly polygons: number;
}

/** Ground that gets over `from` and up to `to`; both are zero for ground that gets nothing. */
export interface RateBin {
  readonly from: number;
  readonly to: number;
  readonly area: number;
  readonly polygons: number;
  /** Different rates in it. */
  readonly rates: number;
}

export interface RateBins {
  readonly width: number;
  /** Upper end of the last bin. */
  readonly end: number;
  /** In the order of the strategies given; empty bins are left out. */
  readonly rows: readonly (readonly RateBin[])[];
}

/** Bars of a chart that still can be told apart on a phone. */
const MOST_BINS = 18;

/** Ground by rate for several strategies in the same bins: nothing apart, then equal round steps above it. */
export function rateBins(strategies: readonly (readonly RateArea[])[]): RateBins {
  const most = Math.max(0, ...strategies.flatMap((rates) => rates.map(({rate}) => rate)));
  const width = roundStep(most, MOST_BINS);
  return {
    width,
    end: width * Math.max(1, Math.ceil(most / width - 1e-9)),
    rows: strategies.map((rates) => binsOf(rates, width)),
  };
}

function binsOf(rates: readonly RateArea[], width: number): RateBin[] {
  const bins = new Map<number, RateBin>();
  for (const {rate, area, polygons} of rates) {
    const n = Math.max(0, Math.ceil(rate / width - 1e-9));
    const old = bins.get(n) ?? {from: Math.max(0, (n - 1) * width), to: n * width, area: 0, polygons: 0, rates: 0};
    bins.set(n, {...old, area: old.area + area, polygons: old.polygons + polygons, rates: old.rates + 1});
  }
  return [...bins].sort(([a], [b]) => a - b).map(([, bin]) => bin);
}
