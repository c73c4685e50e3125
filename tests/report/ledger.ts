import type {Comparison} from "../../src/compare/comparison.ts";

/** A ledger with made-up figures: three strategies, one product priced, one nutrient in classes. */
export function sampleLedger(): Comparison {
  const line = {code: "MAP", analysis: "11-52-0", nutrient: "P2O5"} as const;
  const classes = (below: number, within: number, above: number) => ({
    P2O5: [
      {testClass: "below the critical level", acres: below},
      {testClass: "maintenance", acres: within},
      {testClass: "above the maintenance limit", acres: above},
    ],
  });
  return {
    field: "Millrace",
    acres: 153.8,
    baseline: "whole-field",
    rows: [
      {
        strategy: "whole-field",
        samples: 7,
        cores: 140,
        acresPerSample: 153.8 / 7,
        products: [
          {
            ...line,
            meanLbPerAcre: 125,
            minLbPerAcre: 125,
            maxLbPerAcre: 125,
            totalLb: 19225,
            nutrientLb: 9997,
            nitrogenLb: 2114.75,
            shiftedLb: 154.2,
            cost: 7690,
          },
        ],
        productCost: 7690,
        samplingCost: 154,
        totalCost: 7844,
        acresByClass: classes(0, 153.8, 0),
      },
      {
        strategy: "grid",
        samples: 62,
        cores: 496,
        acresPerSample: 153.8 / 62,
        products: [
          {
            ...line,
            meanLbPerAcre: 87.77635,
            minLbPerAcre: 0,
            maxLbPerAcre: 240,
            totalLb: 13500.0026,
            nutrientLb: 7020.001352,
            nitrogenLb: 1485.000286,
            shiftedLb: -12.4,
            cost: 5400.00104,
            differenceLb: -5724.9974,
          },
        ],
        productCost: 5400.00104,
        samplingCost: 992,
        totalCost: 6392.00104,
        differenceCost: -1451.99896,
        acresByClass: classes(61.25, 50.05, 42.5),
      },
      {strategy: "zone", samples: 9, cores: 108, acresPerSample: 153.8 / 9, products: [], acresByClass: {}},
    ],
    notes: ["For arithmetic only: a test.", "No gain in yield is promised. ".repeat(5).trim()],
  };
}
