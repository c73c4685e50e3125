import {parseLength} from "../../units/parse.ts";
import {quantity, rate, z} from "./shared.ts";

export const limeSection = z
  .strictObject({
    method: z
      .enum(["e-2567", "pennsylvania", "north-carolina"])
      .describe("The published way from soil tests to lime (docs/methods/lime.md)"),
    targetPh: z.number().min(5).max(8).describe("Soil pH to lime to, in water"),
    slack: z.number().min(0).max(1).optional().describe("pH units under the target before lime is due"),
    depth: quantity(parseLength, "depth lime is worked in", "8 in").optional(),
    material: z
      .strictObject({
        name: z.string().describe("What it is called, for papers"),
        ccePct: z.number().positive().optional().describe("Calcium carbonate equivalent: purity alone"),
        eccePct: z.number().positive().optional().describe("Effective CCE: purity and fineness"),
        enpLbPerTon: z.number().positive().optional().describe("Effective neutralizing power, lb per ton"),
      })
      .optional()
      .describe("What is spread; without it tons are of the method's standard lime"),
    acidityMeq: z
      .number()
      .min(0)
      .optional()
      .describe("Exchangeable acidity, meq/100 g, where the method works from it"),
    earlier: rate("earlier lime still to work", "1 ton/ac").optional(),
  })
  .optional()
  .describe("Lime by a published method; without it no lime is worked out");
