import {parseCropPrice, parsePriceEach} from "../../units/money.ts";
import {quantity, z} from "./shared.ts";

export const pricesSection = z
  .strictObject({
    year: z.int().min(1900).max(2200).describe("Year the prices are of"),
    lab: quantity((t, w) => parsePriceEach(t, "sample", w), "lab price", "12 $/sample").optional(),
    core: quantity((t, w) => parsePriceEach(t, "core", w), "price of a core", "0.40 $/core").optional(),
    yearsServed: z.number().positive().optional().describe("Years until the field is sampled again"),
    zoneMaking: quantity((t, w) => parsePriceEach(t, "ac", w), "price of zone making", "1 $/ac").optional(),
    labour: quantity((t, w) => parsePriceEach(t, "hour", w), "price of labour", "30 $/hour").optional(),
    broadcast: quantity((t, w) => parsePriceEach(t, "ac", w), "price of broadcasting", "8 $/ac").optional(),
    subsurface: quantity(
      (t, w) => parsePriceEach(t, "ac", w),
      "price of placing below the surface",
      "20 $/ac",
    ).optional(),
    variableRate: quantity((t, w) => parsePriceEach(t, "ac", w), "extra for several rates", "2 $/ac").optional(),
    crops: z
      .record(z.string(), quantity(parseCropPrice, "crop price", "4.20 $/bu"))
      .default({})
      .describe('By crop, as in {"corn": "4.20 $/bu"}; needed to ask what finer sampling pays'),
  })
  .optional()
  .describe("What things cost, for the ledger; nothing has a price by default");
