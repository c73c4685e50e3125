import {parsePricePerPound} from "../../units/money.ts";
import {parseBushelsPerAcre} from "../../units/parse.ts";
import {quantity, z} from "./shared.ts";

export const ratesSection = z
  .strictObject({
    guide: z.string().default("tri-state-2020"),
    crops: z
      .array(
        z.strictObject({
          crop: z.string(),
          year: z.int().optional().describe("Crops of one year share its buildup; default: a year each"),
          yieldGoal: quantity(parseBushelsPerAcre, "yield goal", "195 bu/ac"),
          byZone: z
            .record(
              z.string().regex(/^\d+$/, "the number of a zone"),
              quantity(parseBushelsPerAcre, "yield goal", "180 bu/ac"),
            )
            .default({})
            .describe('Yield goals of single zones, for the zone strategy, as in {"1": "170 bu/ac"}'),
        }),
      )
      .min(1)
      .describe("The crops one application serves, in order"),
    rotation: z
      .array(z.string())
      .default([])
      .describe("Other crops of the rotation, which may raise the critical level"),
    buildup: z.boolean().default(true).describe("Whether soils under the critical level are built up"),
    missing: z.enum(["refuse", "zero"]).default("refuse").describe("What to do about a unit without lab results"),
    cecBoundary: z
      .enum(["at most", "below"])
      .optional()
      .describe("Which side of the guide's CEC boundary the boundary itself is on"),
    clampCec: z.boolean().optional().describe("Holds CEC within the range the guide's slope was fitted for"),
    cec: z.number().positive().optional().describe("meq/100 g for the whole field, where the lab gives none"),
    acceptMethod: z
      .strictObject({reason: z.string().min(10)})
      .optional()
      .describe("Runs a guide on tests it was not made for; every table then says: for arithmetic only"),
  })
  .optional();

export const productsSection = z
  .array(
    z.strictObject({
      analysis: z.string().describe('N - P2O5 - K2O, as in "11-52-0"'),
      nutrient: z.enum(["P2O5", "K2O"]),
      name: z.string().optional(),
      price: quantity(parsePricePerPound, "product price", "720 $/ton").optional(),
    }),
  )
  .default([]);
