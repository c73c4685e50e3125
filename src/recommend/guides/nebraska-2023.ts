import type {Method} from "../../lab/soil-test.ts";
import {METRES_PER_INCH} from "../../units/factors.ts";
import type {Guide, PublishedLevel} from "../guide.ts";
import {PPM, printed, remembered, sampledTo} from "./cited.ts";

const SAMPLE = {...PPM, ...sampledTo(8)};
const AUTHORS_2019 = "Nebraska extension authors on postponing P and K, farm press";

const level = (crops: readonly string[], analyte: "P" | "K", method: Method, value: number): PublishedLevel => ({
  crops,
  analyte,
  method,
  level: printed(value),
  source: AUTHORS_2019,
});

/** University of Nebraska, Nutrient Management Suggestions for Corn, EC117: phosphorus and potassium. */
export const nebraska2023: Guide = {
  id: "nebraska-2023",
  title: "Nutrient Management Suggestions for Corn",
  edition: "2023",
  cite: "Nebraska EC117",
  authors: ["University of Nebraska Extension"],
  publication: "University of Nebraska–Lincoln Extension, EC117, December 2023 (phosphorus and potassium as before)",
  year: 2023,
  region: "Nebraska",
  states: ["NE"],
  crops: [{id: "corn", yieldUnit: "bu/ac", usualYield: [50, 330], removal: {}}],
  nutrients: [
    {
      kind: "equation",
      nutrient: "P2O5",
      test: {analyte: "P", methods: ["bray-1"], ...SAMPLE},
      rows: [
        {
          crops: ["corn"],
          equation: {form: "difference", level: remembered(25), times: remembered(4)},
          zeroFrom: remembered(25, "corn after corn, and after every crop but soybean"),
        },
        {
          crops: ["corn"],
          after: "soybean",
          equation: {form: "difference", level: remembered(25), times: remembered(4)},
          zeroFrom: remembered(17, "about 17 ppm for corn after soybean"),
        },
      ],
      classes: ["fertilizer suggested", "no fertilizer suggested"],
    },
    {
      kind: "equation",
      nutrient: "K2O",
      test: {analyte: "K", methods: ["ammonium acetate"], ...SAMPLE},
      rows: [{crops: ["corn"], equation: {form: "difference", level: remembered(125), times: remembered(1)}}],
      classes: ["fertilizer suggested", "no fertilizer suggested"],
    },
  ],
  levels: [
    level(["corn", "sorghum"], "P", "bray-1", 15),
    level(["corn", "sorghum"], "P", "mehlich-3", 18),
    level(["corn", "sorghum"], "P", "olsen", 10),
    level(["soybean"], "P", "bray-1", 12),
    level(["soybean"], "P", "mehlich-3", 14),
    level(["soybean"], "P", "olsen", 8),
    level(["wheat", "alfalfa"], "P", "bray-1", 25),
    level(["wheat", "alfalfa"], "P", "mehlich-3", 29),
    level(["wheat", "alfalfa"], "P", "olsen", 17),
    level(["corn", "sorghum", "soybean", "wheat", "alfalfa"], "K", "ammonium acetate", 125),
  ],
  mostCropYears: remembered(2, "rates are for one crop; what was read does not say for how many they may be added up"),
  validity: [
    "Nebraska, sampled 0 to 8 in, corn.",
    "Broadcast rates; a band needs about half (from memory).",
    "The equation still gives 40 lb P2O5 at Bray-1 15 ppm, where the extension service's table of sufficiency levels gives none. They are different documents and are not merged: the rate follows the equation.",
    "After soybean the rate falls to zero in one step of 32 lb at 17 ppm.",
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
        value: 100,
        unit: "mg/kg",
        method: "ammonium acetate",
        depthM: 8 * METRES_PER_INCH,
        from: "the example's composite",
      },
    ],
    crops: [{crop: "corn", yieldGoal: 200}],
    options: {previousCrop: "corn"},
  },
  sources: [
    {title: "A copy of EC117, December 2023", gives: "sampling depth 0 to 8 in; that P and K advice is unchanged"},
    {title: AUTHORS_2019, gives: "the sufficiency levels by crop and method"},
  ],
};
