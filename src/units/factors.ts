// Exact by definition unless said otherwise.

/** International foot, 1959 agreement. */
export const METRES_PER_FOOT = 0.3048;
/** US survey foot, 1200/3937 m (superseded in 2023, still in many elevation and state-plane files). */
export const METRES_PER_US_SURVEY_FOOT = 1200 / 3937;
export const METRES_PER_INCH = 0.0254;
export const METRES_PER_MILE = 1609.344;
/** International acre: 43,560 square international feet. */
export const SQUARE_METRES_PER_ACRE = 4046.8564224;
export const SQUARE_METRES_PER_HECTARE = 10_000;
/** International avoirdupois pound, 1959 agreement. */
export const KILOGRAMS_PER_POUND = 0.45359237;
export const POUNDS_PER_SHORT_TON = 2000;
/** US liquid gallon: 231 cubic inches. */
export const LITRES_PER_US_GALLON = 3.785411784;
/** 1 lb/ac in kg/ha = 0.45359237 / 0.40468564224 = 1.1208511561944562. */
export const KG_PER_HA_PER_LB_PER_ACRE = KILOGRAMS_PER_POUND / (SQUARE_METRES_PER_ACRE / SQUARE_METRES_PER_HECTARE);

/**
 * Market weight of a bushel in pounds, at the moisture the trade buys on.
 *
 * Source: University of Wisconsin Extension, bushel test weights (corn, soybean, wheat).
 * Some buyers use other moistures: both are settings of a yield log, these are the defaults.
 */
export const BUSHEL = {
  corn: {pounds: 56, moisturePct: 15.5},
  soybean: {pounds: 60, moisturePct: 13},
  wheat: {pounds: 60, moisturePct: 13.5},
  oats: {pounds: 32, moisturePct: 14},
  barley: {pounds: 48, moisturePct: 14.5},
} as const;
