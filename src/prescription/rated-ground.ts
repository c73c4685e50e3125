import {FieldError} from "../errors.ts";
import {invalidReason} from "../geo/geos.ts";
import {areaM2} from "../geo/measure.ts";
import type {MultiPolygon} from "../geo/shapes.ts";
import type {WorkingStep} from "../recommend/recommendation.ts";
import {formatShort} from "../units/format.ts";
import type {Nutrient} from "../units/nutrient.ts";
import type {SquareMetres} from "../units/quantity.ts";
import {productLbFor} from "./parse-product.ts";
import type {Product} from "./prescription.ts";

/** Ground that calls for one rate of each product: a sampling unit, or a patch of a rate surface. */
export interface RatedGround {
  readonly id: string;
  /** Valid, without overlap with other ground. */
  readonly shape: MultiPolygon;
  /** The area acres are counted by. */
  readonly area: SquareMetres;
  /** For each product of the pass, in their order. */
  readonly wants: readonly Want[];
}

/** What one piece of ground wants of one product. */
export interface Want {
  /** lb of the nutrient; of lime, of the material. */
  readonly nutrientLbPerAcre: number;
  readonly exactLbPerAcre: number;
  /** From the nutrient to the product. */
  readonly working: readonly WorkingStep[];
}

/** The product that holds a nutrient rate exactly. */
export function wantOf(product: Product, nutrient: Nutrient, nutrientLbPerAcre: number): Want {
  const exactLbPerAcre = productLbFor(product, nutrient, nutrientLbPerAcre);
  const rate = formatShort(nutrientLbPerAcre);
  const share = formatShort(product.percent[nutrient] / 100, 4);
  return {
    nutrientLbPerAcre,
    exactLbPerAcre,
    working: [
      {
        text: `${product.analysis} for ${rate} lb ${nutrient}: ${rate} ÷ ${share}`,
        value: exactLbPerAcre,
        unit: "lb/ac",
        source: `analysis ${product.analysis}`,
        basis: "arithmetic",
      },
    ],
  };
}

/** @throws {FieldError} `prescription/unit-invalid`. */
export function checkGround(ground: readonly Pick<RatedGround, "id" | "shape" | "area">[]): void {
  if (new Set(ground.map(({id}) => id)).size !== ground.length) throw new Error("two units with one id");
  for (const {id, shape, area} of ground) {
    // A part in a thousand is far above what the frame's scale explains and far below a mix-up of units.
    if (!(Math.abs(area / areaM2(shape) - 1) < 1e-3)) throw new Error(`unit ${id}: its area is not that of its shape`);
    const bad = invalidReason(shape);
    if (!bad) continue;
    throw new FieldError("prescription/unit-invalid", `${id} is not a valid shape: ${bad.reason.toLowerCase()}.`, {
      place: {featureId: id},
      hint: "Redraw it so that its outline does not cross or touch itself.",
    });
  }
}
