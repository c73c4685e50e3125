import {FieldError} from "../errors.ts";
import type {SamplingUnit, Strategy} from "../sampling/plan.ts";
import type {Nutrient} from "../units/nutrient.ts";
import {prescribePass} from "./prescribe-pass.ts";
import type {BuiltPrescription, MachineLimits, Product} from "./prescription.ts";
import {wantOf} from "./rated-ground.ts";
import {type RatesByUnitInput, ratesByUnit} from "./rates-by-unit.ts";

export interface PrescriptionInput extends RatesByUnitInput {
  readonly strategy: Strategy;
  /** Valid, without overlap, as a sampling plan holds them. `area` is the area acres are counted by. */
  readonly units: readonly Pick<SamplingUnit, "id" | "shape" | "area">[];
  /** `nutrient` is the one it is bought for. */
  readonly product: Product;
  readonly limits: MachineLimits;
  /** Changes between neighbours above this are counted as large, lb/ac. Default 100; an assumption, no source. */
  readonly largeStepLbPerAcre?: number;
}

/**
 * Product rates a machine can spread, from nutrient rates per sampling unit: one product, a polygon or more for each unit.
 *
 * product lb/ac = nutrient lb/ac ÷ (percent ÷ 100), then as `prescribePass` has it, without setbacks and merging.
 *
 * @throws {FieldError} `prescription/product-lacks-nutrient`, `prescription/bad-limits`, `prescription/no-rate`,
 *   `prescription/bad-rate`, `prescription/two-rates`, `prescription/unit-invalid`, `prescription/units-overlap`.
 */
export function buildPrescription(input: PrescriptionInput): BuiltPrescription<Nutrient> {
  const {strategy, units, product, nutrient, limits, largeStepLbPerAcre} = input;
  checkHolds(product, nutrient);
  const {rates, issues} = ratesByUnit(input);
  const ground = units.map(({id, shape, area}, i) => ({
    id,
    shape,
    area,
    wants: [wantOf(product, nutrient, rates[i] as number)],
  }));
  const [made] = prescribePass({
    strategy,
    ground,
    products: [{product, nutrient, limits, issues}],
    ...(largeStepLbPerAcre !== undefined && {largeStepLbPerAcre}),
  });
  return made as BuiltPrescription<Nutrient>;
}

/** @throws {FieldError} `prescription/product-lacks-nutrient`. */
export function checkHolds(product: Product, nutrient: PrescriptionInput["nutrient"]): void {
  if (product.percent[nutrient] > 0) return;
  throw new FieldError("prescription/product-lacks-nutrient", `${product.analysis} holds no ${nutrient}.`, {
    hint: `Choose a product for ${nutrient}, or name the nutrient this one is for.`,
  });
}
