import {METRES_PER_INCH} from "../../units/factors.ts";
import type {Guide} from "../guide.ts";
import {PPM, printed, remembered, sampledTo} from "./cited.ts";

const SAMPLE = {...PPM, ...sampledTo(8)};
const FOUR_YEARS = {usual: printed(4), divides: false};

const EXAMPLE = {depthM: 8 * METRES_PER_INCH, from: "the example's composite"};

const CLASSES = ["below critical level", "maintenance range", "maintenance limit and above"] as const;

/**
 * Tri-State Fertilizer Recommendations for Corn, Soybean, Wheat, and Alfalfa, 2020: phosphorus and potassium.
 *
 * For mineral soils of Indiana, Michigan and Ohio, Mehlich-3 (ICP), 0 to 8 in. Not the 1995 edition (Bray-1, ammonium
 * acetate, drawdown). Numbers marked "from memory" still have to be ticked against the bulletin's own tables.
 */
export const triState2020: Guide = {
  id: "tri-state-2020",
  title: "Tri-State Fertilizer Recommendations for Corn, Soybean, Wheat, and Alfalfa",
  edition: "2020",
  cite: "Tri-State 2020, Bulletin 974",
  authors: ["S. Culman", "A. Fulford", "J. Camberato", "K. Steinke"],
  publication: "Ohio State University Extension, Bulletin 974, November 2020",
  year: 2020,
  region: "Indiana, Michigan and Ohio",
  states: ["IN", "MI", "OH"],
  conversions: ["ohio-p-ratio-back", "ohio-k-ratio-back"],
  crops: [
    {
      id: "corn",
      yieldUnit: "bu/ac",
      usualYield: [60, 350],
      removal: {P2O5: remembered(0.35), K2O: remembered(0.2)},
    },
    {
      id: "soybean",
      yieldUnit: "bu/ac",
      usualYield: [15, 110],
      removal: {P2O5: remembered(0.79), K2O: remembered(1.15, "some copies give 1.14")},
    },
    {
      id: "wheat",
      yieldUnit: "bu/ac",
      usualYield: [25, 160],
      removal: {
        P2O5: remembered(0.49),
        K2O: remembered(0.24, "some copies give 0.25; grain only, straw left on the field"),
      },
    },
    {
      id: "alfalfa",
      yieldUnit: "ton/ac",
      usualYield: [1, 12],
      removal: {P2O5: remembered(12), K2O: remembered(49)},
    },
  ],
  nutrients: [
    {
      kind: "buildup and maintenance",
      nutrient: "P2O5",
      test: {analyte: "P", methods: ["mehlich-3 icp"], ...SAMPLE},
      limits: [
        {crops: ["corn", "soybean"], critical: printed(20), maintenance: printed(40)},
        {crops: ["wheat", "alfalfa"], critical: printed(30), maintenance: printed(50)},
      ],
      buildup: {
        base: remembered(5, "20 lb P2O5 raise the test by 1 ppm; a quarter of it each year for four years"),
        years: FOUR_YEARS,
      },
      yearlyBelowCritical: true,
      classes: CLASSES,
    },
    {
      kind: "buildup and maintenance",
      nutrient: "K2O",
      // Potassium reads alike by ICP, flame and atomic absorption, so a report need not say which.
      test: {analyte: "K", methods: ["mehlich-3 icp", "mehlich-3"], ...SAMPLE},
      limits: [
        {
          crops: ["corn", "soybean", "wheat", "alfalfa"],
          cec: "low",
          critical: printed(100, "that the potassium limits are the same for all four crops is from memory"),
          maintenance: printed(130),
        },
        {
          crops: ["corn", "soybean", "wheat", "alfalfa"],
          cec: "high",
          critical: printed(120),
          maintenance: printed(170),
        },
      ],
      buildup: {
        base: remembered(1),
        perCec: remembered(0.05, "as in the 1995 edition: 6 lb K2O raise the test by 1 ppm at CEC 10, 10 lb at CEC 30"),
        years: FOUR_YEARS,
      },
      yearlyBelowCritical: true,
      perCropYear: printed(20),
      cec: {
        boundary: printed(5, "read as 5 or less; the bulletin may say less than 5"),
        fittedFor: {from: 5, to: 30, basis: "from memory"},
      },
      classes: CLASSES,
    },
  ],
  mostCropYears: printed(
    4,
    "in the maintenance range; below the critical level the guide asks for yearly applications",
  ),
  validity: [
    "Mineral soils of Indiana, Michigan and Ohio, sampled 0 to 8 in; not organic soils, not other states.",
    "Mehlich-3 with ICP detection. Bray-1, colorimetric Mehlich-3, Olsen, ammonium acetate and field-moist potassium are other tests with other limits.",
    "Rates are lb of oxide per acre and crop year; an application that serves several crops takes the sum.",
    "The rate falls to zero in one step at the maintenance limit; there is no drawdown ramp as there was in 1995.",
    "Buildup takes four years and is optional; without it a deficient soil still gets the crop's removal.",
    "No cap on a rate is part of this guide's data; limits of the machine and the user are set elsewhere.",
    "Straw and stover taken off the field, manure, nitrogen and lime are not in this page's numbers.",
  ],
  example: {
    tests: [
      {analyte: "P", value: 12, unit: "mg/kg", method: "mehlich-3 icp", ...EXAMPLE},
      {analyte: "K", value: 90, unit: "mg/kg", method: "mehlich-3 icp", ...EXAMPLE},
      {analyte: "CEC", value: 12, unit: "meq/100 g", method: "sum of cations", ...EXAMPLE},
    ],
    crops: [
      {crop: "corn", yieldGoal: 180},
      {crop: "soybean", yieldGoal: 60},
    ],
  },
  sources: [
    {
      title: "Ohio State University Extension, newsletter articles on the 2020 recommendations (2020 and 2021)",
      gives: "the framework: buildup, maintenance, zero above the limit, yearly applications below the critical level",
    },
    {
      title: "Ohio State University Extension, fact sheet ANR-96 (2021)",
      gives: "removal plus 20 lb K2O in the maintenance range, zero at and above the maintenance limit",
    },
    {
      title: "Ohio State University Extension, field guidance pages on Mehlich-3 phosphorus",
      gives: "phosphorus critical levels 20 and 30 ppm, maintenance limits 40 and 50 ppm",
    },
    {
      title: "A soil laboratory's notice on the release of the 2020 recommendations",
      gives: "potassium critical levels 100 and 120 ppm, maintenance limits 130 and 170 ppm, CEC boundary 5",
    },
    {
      title: "Ohio State University Extension, fact sheet ANR-74 (2019)",
      gives:
        "a check on removal: 180 bu corn and 60 bu soybean take 100 to 120 lb of each oxide, about 240 lb of 18-46-0 and 180 lb of 0-0-60",
    },
  ],
};
