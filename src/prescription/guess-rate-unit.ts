import {KG_PER_HA_PER_LB_PER_ACRE, POUNDS_PER_SHORT_TON} from "../units/factors.ts";

/** A unit a column of rates may be in, judged from its size alone. */
export interface UnitGuess {
  readonly unit: string;
  readonly lbPerAcrePerUnit: number;
  /** What the mean would be in lb/ac. */
  readonly meanLbPerAcre: number;
  /** Share of the values that come out as whole lb/ac, 0 to 1: people write round rates. */
  readonly roundShare: number;
}

/** Above this, lb of product per acre is doubtful; only lime goes higher. */
export const MOST_USUAL_LB_PER_ACRE = 2000;
/** A highest rate below this is less than dry spreaders meter. Common practice, no source. */
const LEAST_USUAL_LB_PER_ACRE = 40;
/** The middle of what dry phosphate and potash are spread at. Common practice, no source. */
const USUAL_LB_PER_ACRE = 150;

const MG_PER_M2 = 100 * KG_PER_HA_PER_LB_PER_ACRE;
const LARGE_NUMBERS = [
  {unit: "mg/m² (hundredths of kg/ha)", lbPerAcrePerUnit: 1 / MG_PER_M2},
  {unit: "hundredths of lb/ac", lbPerAcrePerUnit: 0.01},
  {unit: "lb per square mile", lbPerAcrePerUnit: 1 / 640},
  {unit: "g/ha", lbPerAcrePerUnit: 1 / (1000 * KG_PER_HA_PER_LB_PER_ACRE)},
];
const SMALL_NUMBERS = [
  {unit: "ton/ac (2,000 lb)", lbPerAcrePerUnit: POUNDS_PER_SHORT_TON},
  {unit: "t/ha", lbPerAcrePerUnit: 1000 / KG_PER_HA_PER_LB_PER_ACRE},
  {unit: "lb per 1,000 square feet", lbPerAcrePerUnit: 43.56},
  {unit: "g/m²", lbPerAcrePerUnit: 10 / KG_PER_HA_PER_LB_PER_ACRE},
];

/**
 * What unit rates may be in when lb/ac makes no sense: most likely first; empty when lb/ac is a usual size.
 *
 * A guess to ask about, never to convert by: kg/ha and lb/ac cannot be told apart this way.
 *
 * @param values - Rates as they stand in the file, without no-data.
 * @param mean - Their mean, zero or more.
 */
export function guessRateUnit(values: readonly number[], mean: number): UnitGuess[] {
  const most = values.reduce((a, b) => Math.max(a, b), 0);
  const table = most > MOST_USUAL_LB_PER_ACRE ? LARGE_NUMBERS : most < LEAST_USUAL_LB_PER_ACRE ? SMALL_NUMBERS : [];
  const above = [...new Set(values)].filter((value) => value > 0);
  const decimals = Math.max(0, ...above.map(decimalsOf));
  return table
    .map((candidate) => {
      const {lbPerAcrePerUnit: factor} = candidate;
      // Half of the last digit stored: a rate rounded into the file's unit comes back this close.
      const slack = 0.5 * 10 ** -decimals * factor + 1e-9;
      const round = above.filter((value) => Math.abs(value * factor - Math.round(value * factor)) <= slack).length;
      // Where the last digit is worth half a pound or more, everything looks round and it says nothing.
      const roundShare = slack < 0.25 && above.length > 0 ? round / above.length : 0;
      return {...candidate, meanLbPerAcre: mean * factor, roundShare};
    })
    .filter((guess) => guess.meanLbPerAcre >= 10 && guess.meanLbPerAcre <= 12_000)
    .sort((a, b) => b.roundShare - a.roundShare || fromUsual(a) - fromUsual(b));
}

/** How many times more or less than a usual rate, as a logarithm. */
function fromUsual({meanLbPerAcre}: UnitGuess): number {
  return Math.abs(Math.log(meanLbPerAcre / USUAL_LB_PER_ACRE));
}

function decimalsOf(value: number): number {
  let decimals = 0;
  while (decimals < 6 && Math.abs(value * 10 ** decimals - Math.round(value * 10 ** decimals)) > 1e-6) decimals++;
  return decimals;
}
