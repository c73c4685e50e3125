import type {EquationRow, Guide} from "../guide.ts";
import {remembered} from "./cited.ts";
import {BULLETIN, CROPS, K_TEST, P_TEST, SOURCES, TESTS, VALIDITY} from "./kansas-bulletin.ts";

/** 1 − test ÷ zero, written out: the four coefficients as the bulletin prints them. */
function row(
  crop: string,
  zero: number,
  constant: number,
  perYield: number,
  perTest: number,
  perBoth: number,
): EquationRow {
  return {
    crops: [crop],
    equation: {
      form: "full",
      constant: remembered(constant),
      perYield: remembered(perYield),
      perTest: remembered(perTest),
      perBoth: remembered(perBoth),
    },
    zeroFrom: remembered(zero),
    least: remembered(15),
  };
}

/** Kansas State University MF-2586, 2003: the rates that pay this year. */
export const kansasSufficiency: Guide = {
  ...BULLETIN,
  id: "kansas-2003-sufficiency",
  edition: "2003, sufficiency",
  cite: "Kansas MF-2586 sufficiency",
  crops: CROPS,
  nutrients: [
    {
      kind: "equation",
      nutrient: "P2O5",
      test: P_TEST,
      rows: [
        row("corn", 20, 50, 0.2, 2.5, 0.01),
        row("sorghum", 20, 50, 0.16, 2.5, 0.008),
        row("wheat", 20, 46, 0.42, 2.3, 0.021),
      ],
      classes: ["below 20 ppm", "20 ppm or more"],
    },
    {
      kind: "equation",
      nutrient: "K2O",
      test: K_TEST,
      rows: [
        row("corn", 130, 73, 0.21, 0.565, 0.0016),
        row("sorghum", 130, 80, 0.17, 0.616, 0.0013),
        row("wheat", 130, 62, 0.24, 0.48, 0.0018),
        row("soybean", 130, 60, 0.628, 0.46, 0.0048),
      ],
      classes: ["below 130 ppm", "130 ppm or more"],
    },
  ],
  mostCropYears: remembered(2, "rates are for one crop; what was read does not say for how many they may be added up"),
  validity: [
    ...VALIDITY,
    "The equations are (a + b × yield) × (1 − test ÷ zero point) written out; the potassium coefficients are rounded, so the cut-off at 130 ppm is applied as such.",
    "At least 15 lb/ac where anything is due, so the rate falls to zero in one step of 15 lb.",
    "Soybean phosphorus was not found and is refused.",
  ],
  example: {tests: TESTS, crops: [{crop: "corn", yieldGoal: 150}]},
  sources: SOURCES,
};
