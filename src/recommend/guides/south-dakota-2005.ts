import type {Method} from "../../lab/soil-test.ts";
import {METRES_PER_INCH} from "../../units/factors.ts";
import type {EquationRow, Guide} from "../guide.ts";
import {PPM, remembered, sampledTo} from "./cited.ts";

const SAMPLE = {...PPM, ...sampledTo(6)};
const CLASSES = ["response expected", "no response expected"] as const;

function row(crop: string, intercept: number, slope: number, ...methods: Method[]): EquationRow {
  return {
    crops: [crop],
    ...(methods.length > 0 && {methods}),
    equation: {form: "per yield", intercept: remembered(intercept), slope: remembered(slope)},
  };
}

/** South Dakota State University, Fertilizer Recommendations Guide, EC750, 2005: phosphorus and potassium. */
export const southDakota2005: Guide = {
  id: "south-dakota-2005",
  title: "Fertilizer Recommendations Guide",
  edition: "2005",
  cite: "South Dakota EC750",
  authors: ["J. Gerwing", "R. Gelderman"],
  publication: "South Dakota State University Extension, EC750, 2005",
  year: 2005,
  region: "South Dakota",
  states: ["SD"],
  crops: [
    {id: "corn", yieldUnit: "bu/ac", usualYield: [40, 300], removal: {}},
    {id: "soybean", yieldUnit: "bu/ac", usualYield: [10, 100], removal: {}},
    {id: "wheat", yieldUnit: "bu/ac", usualYield: [15, 130], removal: {}},
  ],
  nutrients: [
    {
      kind: "equation",
      nutrient: "P2O5",
      test: {analyte: "P", methods: ["bray-1", "olsen"], ...SAMPLE},
      rows: [
        row("corn", 0.7, 0.035, "bray-1"),
        row("corn", 0.7, 0.044, "olsen"),
        row("soybean", 1.55, 0.1, "bray-1"),
        row("soybean", 1.55, 0.14, "olsen"),
        row("wheat", 1.071, 0.054, "bray-1"),
        row("wheat", 1.071, 0.067, "olsen"),
      ],
      classes: CLASSES,
    },
    {
      kind: "equation",
      nutrient: "K2O",
      test: {analyte: "K", methods: ["ammonium acetate"], ...SAMPLE},
      rows: [row("corn", 1.166, 0.0073), row("soybean", 2.2, 0.0183), row("wheat", 2.71, 0.017)],
      classes: CLASSES,
    },
  ],
  mostCropYears: remembered(2, "rates are for one crop; what was read does not say for how many they may be added up"),
  validity: [
    "South Dakota, sampled 0 to 6 in (depth from memory); Bray-1, or Olsen on calcareous soils.",
    "A revision of 2023 exists; its numbers were not found.",
    "The rate runs straight down to zero: Bray-1 20 ppm for corn, 15.5 for soybean, 19.8 for wheat; potassium 160, 120 and 159 ppm.",
    "The guide lets rates be worked out by equation between its table values.",
  ],
  example: {
    tests: [
      {
        analyte: "P",
        value: 8,
        unit: "mg/kg",
        method: "bray-1",
        depthM: 6 * METRES_PER_INCH,
        from: "the example's composite",
      },
      {
        analyte: "K",
        value: 80,
        unit: "mg/kg",
        method: "ammonium acetate",
        depthM: 6 * METRES_PER_INCH,
        from: "the example's composite",
      },
    ],
    crops: [{crop: "soybean", yieldGoal: 50}],
  },
  sources: [
    {
      title: "South Dakota State University Extension, page of the guide",
      gives: "that rates may be worked out by equation; no coefficients",
    },
  ],
};
