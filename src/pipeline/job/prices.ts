import {parsePriceEach} from "../../units/money.ts";
import {quantity, z} from "./shared.ts";

export const pricesSection = z
  .strictObject({
    year: z.int().min(1900).max(2200),
    lab: quantity((t, w) => parsePriceEach(t, "sample", w), "lab price", "12 $/sample").optional(),
    core: quantity((t, w) => parsePriceEach(t, "core", w), "price of a core", "0.40 $/core").optional(),
    yearsServed: z.number().positive().optional().describe("Years until the field is sampled again"),
    zoneMaking: quantity((t, w) => parsePriceEach(t, "ac", w), "price of zone making", "1 $/ac").optional(),
  })
  .optional();
