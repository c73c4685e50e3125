import type {Random} from "../stats/random.ts";
import {truthDrawer} from "../stats/redraw-means.ts";
import {roundHalfAway} from "../units/format.ts";
import {type AnalyteNoise, compositeSd} from "./composite-noise.ts";

/** Soil-test values of one unit by analyte. */
export type UnitValues = Readonly<Record<string, number>>;

interface MeasuredUnit {
  readonly acres: number;
  readonly cores: number;
  readonly values: UnitValues;
}

/** Below this a share of nothing would be nothing: a tenth of a unit stands in for a zero. */
const LEAST = 0.1;

/**
 * Draws what the true means of units may have been, all analytes together, as often as it is called. Draws have three
 * significant figures: finer than any noise, coarse enough that the same values come again.
 *
 * @param noise - By analyte; an analyte without noise keeps its value.
 */
export function valueDrawer(
  units: readonly MeasuredUnit[],
  noise: Readonly<Record<string, AnalyteNoise>>,
): (random: Random) => UnitValues[] {
  const analytes = [...new Set(units.flatMap(({values}) => Object.keys(values)))];
  const columns = analytes.flatMap((analyte) => {
    const scatter = noise[analyte];
    return scatter ? [columnOf(analyte, units, scatter)] : [];
  });
  return (random) => {
    const drawn = units.map(({values}): Record<string, number> => ({...values}));
    for (const {analyte, members, into, draw, back} of columns) {
      draw(random, into);
      members.forEach((unit, k) => {
        (drawn[unit] as Record<string, number>)[analyte] = toThreeFigures(back(into[k] as number));
      });
    }
    return drawn;
  };
}

/** Means weighted by area over the units that have a value, rounded as pooled tests are. */
export function poolValues(own: readonly UnitValues[], units: readonly MeasuredUnit[]): UnitValues {
  const sums = new Map<string, {sum: number; acres: number}>();
  own.forEach((values, i) => {
    const {acres} = units[i] as MeasuredUnit;
    for (const [analyte, value] of Object.entries(values)) {
      const so = sums.get(analyte) ?? {sum: 0, acres: 0};
      sums.set(analyte, {sum: so.sum + value * acres, acres: so.acres + acres});
    }
  });
  return Object.fromEntries([...sums].map(([analyte, {sum, acres}]) => [analyte, roundHalfAway(sum / acres, 6)]));
}

/** Rounded so that equal draws come again. */
export function toThreeFigures(value: number): number {
  if (value === 0 || !Number.isFinite(value)) return value;
  const scale = 10 ** (2 - Math.floor(Math.log10(Math.abs(value))));
  return Math.round(value * scale) / scale;
}

/** One analyte over the units that have it. */
function columnOf(analyte: string, units: readonly MeasuredUnit[], noise: AnalyteNoise) {
  const members = units.flatMap(({values}, i) => (values[analyte] === undefined ? [] : [i]));
  const inLogs = noise.scale === "share";
  const readings = Float64Array.from(members, (i) => {
    const value = (units[i] as MeasuredUnit).values[analyte] as number;
    return inLogs ? Math.log(Math.max(LEAST, value)) : value;
  });
  const sds = Float64Array.from(members, (i) => compositeSd(noise, Math.max(1, (units[i] as MeasuredUnit).cores)));
  return {
    analyte,
    members,
    into: new Float64Array(members.length),
    draw: truthDrawer(readings, sds),
    back: inLogs ? Math.exp : (value: number) => value,
  };
}
