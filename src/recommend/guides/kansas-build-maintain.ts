import type {Guide} from "../guide.ts";
import {remembered} from "./cited.ts";
import {BULLETIN, CROPS, K_TEST, P_TEST, SOURCES, TESTS, VALIDITY} from "./kansas-bulletin.ts";

/** Kansas State University MF-2586, 2003: rates that raise the soil to its target and keep it there. */
export const kansasBuildMaintain: Guide = {
  ...BULLETIN,
  id: "kansas-2003-build-maintain",
  edition: "2003, build and maintain",
  cite: "Kansas MF-2586 build-maintain",
  crops: CROPS,
  nutrients: [
    {
      kind: "buildup and maintenance",
      nutrient: "P2O5",
      test: P_TEST,
      limits: [
        {
          crops: CROPS.map(({id}) => id),
          critical: remembered(20, "the target; 20 to 30 ppm are maintained"),
          maintenance: remembered(30),
        },
      ],
      buildup: {
        base: remembered(18, "lb P2O5 that raise the test by 1 ppm"),
        years: {usual: remembered(4), choices: [4, 6, 8], divides: true},
      },
      limitIncluded: true,
      classes: ["below target", "target range", "above target range"],
    },
    {
      kind: "buildup and maintenance",
      nutrient: "K2O",
      test: K_TEST,
      limits: [
        {
          crops: CROPS.map(({id}) => id),
          critical: remembered(130, "the target; 130 to 160 ppm are maintained"),
          maintenance: remembered(160),
        },
      ],
      buildup: {
        base: remembered(9, "lb K2O that raise the test by 1 ppm"),
        years: {usual: remembered(4), choices: [4, 6, 8], divides: true},
      },
      limitIncluded: true,
      classes: ["below target", "target range", "above target range"],
    },
  ],
  mostCropYears: remembered(4, "not more than the shortest build-up period"),
  validity: [...VALIDITY, "The years to build up over are a choice: 4, 6 or 8."],
  example: {tests: TESTS, crops: [{crop: "corn", yieldGoal: 150}]},
  sources: [
    ...SOURCES,
    {
      title: "A talk on managing phosphorus soil tests (Minnesota)",
      gives: "a check: 18 lb P2O5 per ppm, ascribed to Illinois",
    },
  ],
};
