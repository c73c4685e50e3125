import {describe, expect, it} from "vitest";
import {checkTaskData} from "../../../src/formats/iso11783/check-task-data.ts";
import {lbPerAcreOf, planTask} from "../../../src/formats/iso11783/plan-task.ts";
import {readTaskData} from "../../../src/formats/iso11783/read-task-data.ts";
import {writeTaskData} from "../../../src/formats/iso11783/write-task-data.ts";
import {frameAt} from "../../../src/geo/frame.ts";
import type {Prescription, Product} from "../../../src/prescription/prescription.ts";
import {squareMetres} from "../../../src/units/quantity.ts";
import {field, options} from "./plans.ts";

const frame = frameAt(-92.995, 42.005);
const dap: Product = {
  code: "DAP",
  name: "diammonium phosphate",
  analysis: "18-46-0",
  percent: {N: 18, P2O5: 46, K2O: 0},
};
const app: Product = {...dap, code: "APP", name: "ammonium polyphosphate", analysis: "10-34-0", lbPerGallon: 11.65};

function prescription(product: Product, outsideLbPerAcre: number, ...rates: number[]): Prescription {
  const polygons = rates.map((rateLbPerAcre, i) => ({
    unit: `Z${i + 1}`,
    polygon: [
      [0, 0, 100, 0, 100, 100, 0, 100, 0, 0].flatMap((x, k, xy) =>
        k % 2 ? [] : [{x: x + i * 100, y: xy[k + 1] as number}],
      ),
    ],
    area: squareMetres(10_000),
    rateLbPerAcre,
  }));
  return {
    strategy: "zone",
    product,
    nutrient: "P2O5",
    polygons,
    limits: {stepLbPerAcre: 1, minLbPerAcre: 0, maxLbPerAcre: 500, belowMin: "zero", outsideLbPerAcre},
    totals: {area: squareMetres(20_000), productLb: 0, meanLbPerAcre: 0, nutrientLb: {N: 0, P2O5: 0, K2O: 0}},
    shiftedLb: 0,
    issues: [],
  };
}

const values = (plan: ReturnType<typeof planTask>, code: number) =>
  readTaskData(writeTaskData(field, [plan], options).value)
    .value.tasks[0]?.zones.find((zone) => zone.code === code)
    ?.values.map(({ddi, raw, product}) => [product, ddi, raw]);

describe("a prescription as a task", () => {
  it("keeps the rates for a lost position and before the map apart from the rate outside", () => {
    const rx = prescription(dap, 25, 200);
    const limits = {...rx.limits, lostPositionLbPerAcre: 120, defaultLbPerAcre: 60};
    const plan = planTask(frame, "Spring", [{...rx, limits}]);
    // 25, 120 and 60 lb/ac times 112.08511561944561 mg/m²: 2,802.1, 13,450.2 and 6,725.1.
    expect(values(plan, 253)).toEqual([["18-46-0 diammonium phosphate", 6, 2802]]);
    expect(values(plan, 254)).toEqual([["18-46-0 diammonium phosphate", 6, 13450]]);
    expect(values(plan, 0)).toEqual([["18-46-0 diammonium phosphate", 6, 6725]]);
  });

  it("comes back in lb/ac within half a mg/m²: 22,417 is 199.99979 lb/ac", () => {
    expect(lbPerAcreOf(dap, 224.17)).toBeCloseTo(199.99979, 5);
    // 93.5396 L/ha, 10 gal/ac of 11.65 lb a gallon.
    expect(lbPerAcreOf(app, 93.53956229)).toBeCloseTo(116.5, 6);
  });

  it("sets dry products by mass and fluids by volume: 116.5 lb/ac of 11.65 lb a gallon is 10 gal/ac", () => {
    const plan = planTask(frame, "Spring", [prescription(dap, 0, 200, 150), prescription(app, 0, 116.5, 0)]);
    expect(values(plan, 1)).toEqual([
      ["18-46-0 diammonium phosphate", 6, 22417],
      ["10-34-0 ammonium polyphosphate", 1, 935396],
    ]);
    expect(values(plan, 2)?.map(([, , raw]) => raw)).toEqual([16813, 0]);
    expect(checkTaskData(writeTaskData(field, [plan], options).value)).toEqual([]);
  });

  it("sets the rate for outside wherever the map does not say", () => {
    const plan = planTask(frame, "Spring", [prescription(dap, 100, 200)]);
    for (const code of [0, 253, 254]) expect(values(plan, code)).toEqual([["18-46-0 diammonium phosphate", 6, 11209]]);
  });

  it("lays its polygons where the field's frame has them", () => {
    const plan = planTask(frame, "Spring", [prescription(dap, 0, 200)]);
    const corner = "zones" in plan.map ? plan.map.zones[0]?.shape[0]?.[0]?.[2] : undefined;
    // 100 m east and north at 42 N, by 82,850.76 and 111,073.28 m to a degree (GeographicLib 2.1.2), good to a centimetre.
    expect(corner?.[0]).toBeCloseTo(-92.995 + 100 / 82_850.76, 6);
    expect(corner?.[1]).toBeCloseTo(42.005 + 100 / 111_073.28, 6);
  });

  it("shows metric units to those who want them", () => {
    const plan = planTask(frame, "Spring", [prescription(dap, 0, 200), prescription(app, 0, 100)], "metric");
    expect(plan.products.map(({unit}) => unit)).toEqual(["kg/ha", "L/ha"]);
  });

  it("refuses prescriptions on different polygons", () => {
    expect(() => planTask(frame, "x", [prescription(dap, 0, 1), prescription(app, 0, 1, 2)])).toThrow(
      "share their polygons",
    );
  });
});
