import {METRES_PER_INCH} from "../../units/factors.ts";
import type {Guide} from "../guide.ts";
import {PPM, printed, remembered, sampledTo} from "./cited.ts";

const SAMPLE = {...PPM, ...sampledTo(6)};

/** University of Minnesota, Fertilizing Corn in Minnesota, 2006: broadcast phosphorus and potassium for corn. */
export const minnesota2006: Guide = {
  id: "minnesota-2006",
  title: "Fertilizing Corn in Minnesota",
  edition: "2006",
  cite: "Minnesota FO-3790",
  authors: ["G. Rehm", "G. Randall", "J. Lamb", "R. Eliason"],
  publication: "University of Minnesota Extension, FO-3790, revised 2006",
  year: 2006,
  region: "Minnesota",
  states: ["MN"],
  crops: [
    {
      id: "corn",
      yieldUnit: "bu/ac",
      usualYield: [60, 350],
      removal: {
        P2O5: printed(0.25, "200 bu take 50 to 66 lb; the low end"),
        K2O: printed(0.18, "200 bu take 36 to 44 lb; the low end"),
      },
    },
  ],
  nutrients: [
    {
      kind: "equation",
      nutrient: "P2O5",
      test: {analyte: "P", methods: ["bray-1", "olsen"], ...SAMPLE},
      rows: [
        {
          crops: ["corn"],
          methods: ["bray-1"],
          equation: {form: "per yield", intercept: remembered(0.7), slope: remembered(0.035)},
        },
        {
          crops: ["corn"],
          methods: ["olsen"],
          equation: {form: "per yield", intercept: remembered(0.7), slope: remembered(0.044)},
        },
      ],
      classes: ["response expected", "no response expected"],
    },
    {
      kind: "equation",
      nutrient: "K2O",
      test: {analyte: "K", methods: ["ammonium acetate"], ...SAMPLE},
      rows: [{crops: ["corn"], equation: {form: "per yield", intercept: remembered(1.166), slope: remembered(0.0073)}}],
      classes: ["response expected", "no response expected"],
    },
  ],
  mostCropYears: remembered(2, "rates are for one crop; what was read does not say for how many they may be added up"),
  validity: [
    "Minnesota, sampled 0 to 6 in (depth from memory); Bray-1, or Olsen on calcareous soils.",
    "Broadcast rates. A band at low tests needs about half as much (from memory).",
    "The rate runs straight down to zero at Bray-1 20, Olsen 15.9 and potassium 159.7 ppm; the state's specialist printed 20 and 16.",
    "Later tables raised the potassium levels; they were not found.",
    "Removal serves only to project the soil test: it is no part of the rate.",
  ],
  example: {
    tests: [
      {
        analyte: "P",
        value: 10,
        unit: "mg/kg",
        method: "bray-1",
        depthM: 6 * METRES_PER_INCH,
        from: "the example's composite",
      },
      {
        analyte: "K",
        value: 100,
        unit: "mg/kg",
        method: "ammonium acetate",
        depthM: 6 * METRES_PER_INCH,
        from: "the example's composite",
      },
    ],
    crops: [{crop: "corn", yieldGoal: 180}],
  },
  sources: [
    {
      title: "A farm-press article by Minnesota's extension specialist on soil tests and fertilizer decisions",
      gives: "a check: phosphorus pays up to Bray-1 20 or Olsen 16 ppm",
    },
    {title: "A farm-press article on removal-based strategies (2022)", gives: "removal of 200 bu corn"},
  ],
};
