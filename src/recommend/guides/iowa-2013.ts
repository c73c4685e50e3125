import {METRES_PER_INCH} from "../../units/factors.ts";
import type {Guide} from "../guide.ts";
import {PPM, printed, remembered, sampledTo} from "./cited.ts";

const SAMPLE = {...PPM, ...sampledTo(6)};
const CLASSES = ["very low", "low", "optimum", "high", "very high"] as const;
const NONE = remembered(0);

/**
 * Iowa State University PM 1688, October 2013: phosphorus and potassium for corn and soybean.
 *
 * Not the 2023 edition, whose classes and rates differ and were not found. The table's own rates within the very low and
 * low classes are steps; the equations the bulletin gives for variable rates were not found and nothing stands in for
 * them.
 */
export const iowa2013: Guide = {
  id: "iowa-2013",
  title: "A General Guide for Crop Nutrient and Limestone Recommendations in Iowa",
  edition: "2013",
  cite: "Iowa PM 1688, 2013",
  authors: ["A. P. Mallarino", "J. E. Sawyer", "S. K. Barnhart"],
  publication: "Iowa State University Extension and Outreach, PM 1688, October 2013",
  year: 2013,
  region: "Iowa",
  states: ["IA"],
  crops: [
    {
      id: "corn",
      yieldUnit: "bu/ac",
      usualYield: [60, 350],
      removal: {P2O5: remembered(0.32), K2O: remembered(0.22)},
    },
    {
      id: "soybean",
      yieldUnit: "bu/ac",
      usualYield: [15, 110],
      removal: {P2O5: remembered(0.73), K2O: remembered(1.17)},
    },
  ],
  removalSets: [
    {
      id: "2002",
      title: "PM 1688, 2002",
      removal: {
        corn: {P2O5: remembered(0.375), K2O: printed(0.3, "150 bu give the 45 lb K2O that were printed")},
        soybean: {P2O5: remembered(0.8), K2O: printed(1.5, "50 bu give the 75 lb K2O that were printed")},
      },
    },
  ],
  nutrients: [
    {
      kind: "class table",
      nutrient: "P2O5",
      test: {analyte: "P", methods: ["bray-1", "mehlich-3 colorimetric", "mehlich-3 icp", "olsen"], ...SAMPLE},
      classes: CLASSES,
      scales: [
        {
          methods: ["bray-1", "mehlich-3 colorimetric"],
          upTo: [remembered(10), printed(15), printed(20), remembered(30)],
        },
        {methods: ["mehlich-3 icp"], upTo: [remembered(15), printed(25), printed(35), remembered(45)]},
        {methods: ["olsen"], upTo: [remembered(6), remembered(10), remembered(14), remembered(20)]},
      ],
      rows: [
        {crops: ["corn"], rates: [remembered(100), remembered(75), "removal", NONE, NONE]},
        {crops: ["soybean"], rates: [remembered(80), remembered(60), "removal", NONE, NONE]},
        {
          crops: ["corn", "soybean"],
          together: true,
          rates: [remembered(145), remembered(110), "removal", NONE, NONE],
        },
      ],
    },
    {
      kind: "class table",
      nutrient: "K2O",
      test: {
        analyte: "K",
        methods: [
          "ammonium acetate",
          "mehlich-3 icp",
          "mehlich-3",
          "ammonium acetate field-moist",
          "mehlich-3 field-moist",
        ],
        ...SAMPLE,
      },
      classes: CLASSES,
      scales: [
        {
          methods: ["ammonium acetate", "mehlich-3 icp", "mehlich-3"],
          upTo: [remembered(120), remembered(160), remembered(200), remembered(240)],
        },
        {
          methods: ["ammonium acetate field-moist", "mehlich-3 field-moist"],
          upTo: [printed(50), printed(85), printed(120), printed(155)],
        },
      ],
      rows: [
        {crops: ["corn"], rates: [printed(130), printed(90), "removal", printed(0), printed(0)]},
        {crops: ["soybean"], rates: [printed(120), printed(90), "removal", printed(0), printed(0)]},
        {
          crops: ["corn", "soybean"],
          together: true,
          rates: [
            printed(220),
            printed(165),
            "removal",
            printed(0, "a copy prints 60 near this class without saying what it is; it is not used"),
            printed(0),
          ],
        },
      ],
    },
  ],
  mostCropYears: printed(2, "the corn-soybean rotation has rates of its own; longer ones are added up by year"),
  validity: [
    "Iowa, sampled 0 to 6 in.",
    "Field-moist and dried potassium are different tests with different classes, and so are Mehlich-3 phosphorus by ICP and by colorimetry; none is converted to another.",
    "Bray-1 must not be used on highly calcareous soil.",
    "The optimum class gets the removal of the 2013 edition; rates of 45 and 75 lb K2O that circulate for it rest on removal and yields of 2002, which can be asked for.",
    "Rates of the very low and low classes are for response, not for building the soil up, but for the one two-year application.",
    "The equations for rates within a class, and the whole 2023 edition, were not found. Between classes the rate is a step.",
    "Where a high yield goal makes removal larger than the rate of the low class, the rate says so.",
    "Manure, nitrogen and lime are not in this page's numbers.",
  ],
  example: {
    tests: [
      {
        analyte: "P",
        value: 18,
        unit: "mg/kg",
        method: "bray-1",
        depthM: 6 * METRES_PER_INCH,
        from: "the example's composite",
      },
      {
        analyte: "K",
        value: 60,
        unit: "mg/kg",
        method: "mehlich-3 field-moist",
        depthM: 6 * METRES_PER_INCH,
        from: "the example's composite",
      },
    ],
    crops: [{crop: "corn", yieldGoal: 200}],
  },
  sources: [
    {
      title: "Mallarino (2003), Soil Science Society of America Journal 67: 1928",
      gives: "the optimum phosphorus classes of 2003 by Bray-1, Mehlich-3 and ICP",
    },
    {
      title: "A trade article on the potassium recommendations of 2013",
      gives: "field-moist classes, potassium rates of the very low and low classes",
    },
    {
      title: "Iowa State University, news on the 2013 and 2023 editions",
      gives: "what changed from edition to edition",
    },
  ],
};
