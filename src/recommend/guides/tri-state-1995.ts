import {METRES_PER_INCH} from "../../units/factors.ts";
import type {Guide} from "../guide.ts";
import {PPM, printed, remembered, sampledTo} from "./cited.ts";

const SAMPLE = {...PPM, ...sampledTo(8)};
const FOUR_YEARS = {usual: printed(4), divides: false};
const CLASSES = ["below critical level", "maintenance range", "end of drawdown and above"] as const;
const CROPS = ["corn", "soybean", "wheat", "alfalfa"];

/**
 * Tri-State Fertilizer Recommendations for Corn, Soybeans, Wheat and Alfalfa, 1995: phosphorus and potassium.
 *
 * For Bray-1 phosphorus and ammonium acetate potassium. Superseded by the 2020 edition, whose limits are for Mehlich-3;
 * kept for reports by the older methods and for its drawdown ramp.
 */
export const triState1995: Guide = {
  id: "tri-state-1995",
  title: "Tri-State Fertilizer Recommendations for Corn, Soybeans, Wheat and Alfalfa",
  edition: "1995",
  cite: "Tri-State 1995, Bulletin E-2567",
  authors: ["M. L. Vitosh", "J. W. Johnson", "D. B. Mengel"],
  publication: "Michigan State University Extension, Bulletin E-2567 (Purdue AY-9-32), July 1995",
  year: 1995,
  region: "Indiana, Michigan and Ohio",
  states: ["IN", "MI", "OH"],
  conversions: ["ohio-p-ratio", "ohio-p-regression", "ohio-k-ratio"],
  crops: [
    {
      id: "corn",
      yieldUnit: "bu/ac",
      usualYield: [60, 350],
      removal: {P2O5: remembered(0.37), K2O: remembered(0.27)},
    },
    {
      id: "soybean",
      yieldUnit: "bu/ac",
      usualYield: [15, 110],
      removal: {P2O5: remembered(0.8), K2O: remembered(1.4)},
    },
    {
      id: "wheat",
      yieldUnit: "bu/ac",
      usualYield: [25, 160],
      removal: {P2O5: remembered(0.63), K2O: remembered(0.37, "grain only, straw left on the field")},
    },
    {
      id: "alfalfa",
      yieldUnit: "ton/ac",
      usualYield: [1, 12],
      removal: {P2O5: remembered(13), K2O: remembered(50)},
    },
  ],
  nutrients: [
    {
      kind: "buildup and maintenance",
      nutrient: "P2O5",
      test: {analyte: "P", methods: ["bray-1"], ...SAMPLE},
      limits: [
        {crops: ["corn", "soybean"], critical: printed(15), maintenance: printed(30), zero: remembered(40)},
        {crops: ["wheat", "alfalfa"], critical: printed(25), maintenance: remembered(40), zero: printed(50)},
      ],
      buildup: {base: remembered(5, "20 lb P2O5 raise the test by 1 ppm, as its authors say"), years: FOUR_YEARS},
      yearlyBelowCritical: true,
      classes: CLASSES,
      drawdownClass: "drawdown range",
    },
    {
      kind: "buildup and maintenance",
      nutrient: "K2O",
      test: {analyte: "K", methods: ["ammonium acetate"], ...SAMPLE},
      limits: [
        {
          crops: CROPS,
          critical: remembered(75, "75 + 2.5 × CEC gives the printed 88 ppm at CEC 5 and 150 ppm at CEC 30"),
          maintenance: remembered(105, "30 ppm above the critical level"),
          zero: remembered(125, "50 ppm above the critical level"),
          perCec: remembered(2.5),
        },
      ],
      buildup: {
        base: remembered(1),
        perCec: remembered(0.05, "6 lb K2O raise the test by 1 ppm at CEC 10, 10 lb at CEC 30, as its authors say"),
        years: FOUR_YEARS,
      },
      perCropYear: remembered(20),
      cec: {fittedFor: {from: 5, to: 30, basis: "from memory"}},
      yearlyBelowCritical: true,
      classes: CLASSES,
      drawdownClass: "drawdown range",
    },
  ],
  mostCropYears: remembered(4, "in the maintenance range; below the critical level applications are yearly"),
  validity: [
    "Mineral soils of Indiana, Michigan and Ohio, sampled 0 to 8 in; not organic soils, not other states.",
    "Bray-1 phosphorus and ammonium acetate potassium. Mehlich-3 is another test: its limits are in the 2020 edition.",
    "Superseded in 2020. Yield goals and removal of that time are higher in nutrients per bushel than today's.",
    "Between maintenance limit and zero point the rate runs out in a straight line.",
    "No cap on a rate is part of this guide's data; limits of the machine and the user are set elsewhere.",
    "Straw and stover taken off the field, manure, nitrogen and lime are not in this page's numbers.",
  ],
  example: {
    tests: [
      {
        analyte: "P",
        value: 10,
        unit: "mg/kg",
        method: "bray-1",
        depthM: 8 * METRES_PER_INCH,
        from: "the example's composite",
      },
      {
        analyte: "K",
        value: 140,
        unit: "mg/kg",
        method: "ammonium acetate",
        depthM: 8 * METRES_PER_INCH,
        from: "the example's composite",
      },
      {
        analyte: "CEC",
        value: 10,
        unit: "meq/100 g",
        method: "sum of cations",
        depthM: 8 * METRES_PER_INCH,
        from: "the example's composite",
      },
    ],
    crops: [{crop: "corn", yieldGoal: 150}],
  },
  sources: [
    {
      title: "Ohio State University, articles on managing at the critical level and on its nine-year trials",
      gives: "phosphorus critical levels 15 and 25 ppm, maintenance range of corn and soybean 15 to 30 ppm",
    },
    {
      title: "Ohio State University, best-practice pages on soil-test phosphorus",
      gives: "zero from 50 ppm where wheat or alfalfa is grown",
    },
    {
      title: "Michigan State University Extension, article on phosphorus and potassium for 2013",
      gives: "a check: potassium critical levels from 88 to 150 ppm by CEC",
    },
    {
      title: "An article by an Ohio author of the guide on raising soil tests (republished)",
      gives: "20 lb P2O5 and 6 to 10 lb K2O per ppm; 150 bu of corn remove about 55 lb P2O5",
    },
  ],
};
