import {METRES_PER_INCH} from "../../units/factors.ts";
import type {Guide, TestNeed} from "../guide.ts";
import {printed, remembered, sampledTo} from "./cited.ts";

const SAMPLE = {
  unit: "lb/ac",
  unitLabel: "lb/ac",
  // The handbook gives its levels per acre of 2,000,000 lb of soil.
  alsoIn: {unit: "mg/kg", factor: 2, rule: "ppm × 2, by convention"},
  ...sampledTo(7),
} as const satisfies Partial<TestNeed>;

const FOUR_YEARS = {usual: remembered(4), divides: true};
const CLASSES = ["buildup", "maintenance", "above the upper limit"] as const;
const CROPS = ["corn", "soybean", "wheat"];

/**
 * Illinois Agronomy Handbook, 24th edition, chapter 8: phosphorus and potassium.
 *
 * Soil tests in lb/ac, buildup to a goal that depends on the soil, maintenance up to an upper limit.
 */
export const illinois2009: Guide = {
  id: "illinois-2009",
  title: "Illinois Agronomy Handbook, chapter 8, Managing Soil pH and Crop Nutrients",
  edition: "2009",
  cite: "Illinois Agronomy Handbook 2009",
  authors: ["F. G. Fernández", "R. G. Hoeft"],
  publication: "University of Illinois Extension, Illinois Agronomy Handbook, 24th edition, 2009",
  year: 2009,
  region: "Illinois",
  states: ["IL"],
  soilGroups: {
    what: "phosphorus-supplying power",
    names: ["high phosphorus-supplying power", "medium phosphorus-supplying power", "low phosphorus-supplying power"],
  },
  crops: [
    {
      id: "corn",
      yieldUnit: "bu/ac",
      usualYield: [60, 350],
      removal: {P2O5: remembered(0.43), K2O: remembered(0.28)},
    },
    {
      id: "soybean",
      yieldUnit: "bu/ac",
      usualYield: [15, 110],
      removal: {P2O5: remembered(0.85), K2O: remembered(1.3)},
    },
    {
      id: "wheat",
      yieldUnit: "bu/ac",
      usualYield: [25, 160],
      removal: {P2O5: remembered(0.9), K2O: remembered(0.3)},
    },
  ],
  removalSets: [
    {
      id: "survey-2019",
      title: "Illinois survey of 2014 to 2016 grain, 75th percentile, 2019",
      removal: {
        corn: {P2O5: printed(0.37), K2O: printed(0.23, "some copies give 0.24")},
        soybean: {P2O5: printed(0.75), K2O: printed(1.18, "some copies give 1.17")},
        wheat: {P2O5: printed(0.46), K2O: printed(0.28)},
      },
    },
  ],
  nutrients: [
    {
      kind: "buildup and maintenance",
      nutrient: "P2O5",
      test: {analyte: "P", methods: ["bray-1", "mehlich-3 colorimetric"], ...SAMPLE},
      limits: [
        {
          crops: CROPS,
          group: "high phosphorus-supplying power",
          critical: remembered(40, "40 is printed in an article of 2004"),
          maintenance: remembered(60),
        },
        {
          crops: CROPS,
          group: "medium phosphorus-supplying power",
          critical: remembered(45),
          maintenance: remembered(65),
        },
        {
          crops: CROPS,
          group: "low phosphorus-supplying power",
          critical: remembered(50),
          maintenance: remembered(70, "70 is printed in an article of 2004"),
        },
      ],
      buildup: {
        base: remembered(9, "lb P2O5 that raise the test by 1 lb/ac: 18 lb per ppm"),
        years: FOUR_YEARS,
      },
      limitIncluded: true,
      classes: CLASSES,
    },
    {
      kind: "buildup and maintenance",
      nutrient: "K2O",
      test: {analyte: "K", methods: ["ammonium acetate", "mehlich-3 icp", "mehlich-3"], ...SAMPLE},
      limits: [
        {
          crops: CROPS,
          cec: "low",
          critical: remembered(260, "260 is printed in an article of 2004"),
          maintenance: remembered(360),
        },
        {
          crops: CROPS,
          cec: "high",
          critical: remembered(300),
          maintenance: remembered(400, "400 is printed in an article of 2004"),
        },
      ],
      buildup: {base: remembered(4, "lb K2O that raise the test by 1 lb/ac: 8 lb per ppm"), years: FOUR_YEARS},
      cec: {boundary: remembered(12), low: "below"},
      limitIncluded: true,
      classes: CLASSES,
    },
  ],
  levels: [
    {
      crops: CROPS,
      analyte: "P",
      method: "bray-1",
      level: printed(15, "30 lb/ac, near-greatest yield on high phosphorus-supplying soils"),
      source: "a farm-press article on Illinois levels",
    },
  ],
  mostCropYears: remembered(4, "not more than the build-up period"),
  validity: [
    "Illinois, sampled 0 to 7 in (depth from memory). Levels are lb of soil test per acre, which is ppm × 2 by convention.",
    "Bray-1, or Mehlich-3 with colorimetric detection; ICP reads higher and is refused.",
    "The phosphorus-supplying power of the soil must be named; the handbook has it on a map.",
    "Removal is the handbook's by default; the survey values of 2019 are lower and can be asked for. Both are meant to be on the generous side.",
    "Manure, nitrogen and lime are not in this page's numbers.",
  ],
  example: {
    tests: [
      {
        analyte: "P",
        value: 30,
        unit: "lb/ac",
        method: "bray-1",
        depthM: 7 * METRES_PER_INCH,
        from: "the example's composite",
      },
      {
        analyte: "K",
        value: 200,
        unit: "lb/ac",
        method: "ammonium acetate",
        depthM: 7 * METRES_PER_INCH,
        from: "the example's composite",
      },
      {
        analyte: "CEC",
        value: 15,
        unit: "meq/100 g",
        method: "sum of cations",
        depthM: 7 * METRES_PER_INCH,
        from: "the example's composite",
      },
    ],
    crops: [{crop: "corn", yieldGoal: 180}],
    options: {soilGroup: "medium phosphorus-supplying power"},
  },
  sources: [
    {
      title: "Villamil and others (2019), grain P and K concentrations for Illinois field crops",
      gives: "the removal of the survey set",
    },
    {
      title: "A release on Illinois soil-test goals (2004), ascribed to the handbook's author",
      gives: "40 and 70 lb/ac phosphorus, 260 and 400 lb/ac potassium",
    },
    {
      title: "A cooperative's page on removal citing Illinois",
      gives: "9 lb P2O5 and 4 lb K2O per lb/ac (its figures per ppm contradict these and are misprints)",
    },
  ],
};
