import {METRES_PER_INCH} from "../../units/factors.ts";
import type {Guide, GuideCrop} from "../guide.ts";
import {PPM, remembered, sampledTo} from "./cited.ts";

// What the two approaches of MF-2586 have in common.

const SAMPLE = {...PPM, ...sampledTo(6)};
export const P_TEST = {analyte: "P", methods: ["bray-1", "mehlich-3 colorimetric"], ...SAMPLE} as const;
export const K_TEST = {analyte: "K", methods: ["ammonium acetate", "mehlich-3 icp", "mehlich-3"], ...SAMPLE} as const;

export const BULLETIN = {
  title: "Soil Test Interpretations and Fertilizer Recommendations in Kansas",
  authors: ["D. F. Leikam", "R. E. Lamond", "D. B. Mengel"],
  publication: "Kansas State University Research and Extension, MF-2586, September 2003",
  year: 2003,
  region: "Kansas",
  states: ["KS"],
};

export const CROPS: readonly GuideCrop[] = [
  {
    id: "corn",
    yieldUnit: "bu/ac",
    usualYield: [60, 350],
    removal: {P2O5: remembered(0.33), K2O: remembered(0.26)},
  },
  {
    id: "sorghum",
    yieldUnit: "bu/ac",
    usualYield: [30, 220],
    removal: {P2O5: remembered(0.4), K2O: remembered(0.26)},
  },
  {
    id: "wheat",
    yieldUnit: "bu/ac",
    usualYield: [15, 140],
    removal: {P2O5: remembered(0.5), K2O: remembered(0.3)},
  },
  {
    id: "soybean",
    yieldUnit: "bu/ac",
    usualYield: [10, 110],
    removal: {P2O5: remembered(0.8), K2O: remembered(1.4)},
  },
];

export const TESTS: Guide["example"]["tests"] = [
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
];

export const VALIDITY = [
  "Kansas, sampled 0 to 6 in, Bray-1 or Mehlich-3 phosphorus.",
  "The detection behind its Mehlich-3 numbers was not found; ICP reads higher than colorimetry, so phosphorus by ICP is refused.",
  "An updated edition is announced; its coefficients were not found.",
];

export const SOURCES: Guide["sources"] = [
  {
    title: "Kansas State University, note on updated soil-test interpretations",
    gives: "that an update of MF-2586 exists; no numbers",
  },
];
