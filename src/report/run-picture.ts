import type {Field} from "../geo/field.ts";
import type {BuiltPrescription} from "../prescription/prescription.ts";
import type {SamplingPlan, Strategy} from "../sampling/plan.ts";
import {formatNumber} from "../units/format.ts";
import {type MapPanel, threeMaps} from "./three-maps.ts";

const TITLES: Readonly<Record<Strategy, string>> = {"whole-field": "Whole field", grid: "Grid", zone: "Zones"};

/** One product's rates on a field, a map for each strategy, side by side. */
export function ratesPicture(
  heading: string,
  field: Field,
  strategies: readonly {readonly plan: SamplingPlan; readonly prescription: BuiltPrescription}[],
): string {
  const panels = strategies.map(({plan, prescription}): MapPanel => {
    const rates = new Set(prescription.polygons.map(({rateLbPerAcre}) => rateLbPerAcre));
    const bags = `${formatNumber(plan.units.length)} bags`;
    return {
      title: TITLES[plan.strategy],
      note: `${bags}, ${rates.size === 1 ? "one rate" : `${rates.size} rates`}`,
      parts: prescription.polygons.map(({unit, polygon, rateLbPerAcre}) => {
        const owner = prescription.unitRates.find(({polygons}) => polygons.includes(unit))?.unit;
        const zone = plan.units.find(({id}) => id === owner)?.zone;
        return {shape: [polygon], value: rateLbPerAcre, ...(zone !== undefined && {ring: String(zone)})};
      }),
    };
  });
  const analysis = strategies[0]?.prescription.product.analysis ?? "";
  return threeMaps(heading, `lb of ${analysis} per acre`, field.outline, panels);
}
