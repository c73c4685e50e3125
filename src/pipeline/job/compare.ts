import {labFile, placesFile, sayWhereIdsAre} from "./lab.ts";
import {count, rate, z} from "./shared.ts";

const curve = z
  .enum(["p-quadratic", "p-linear", "k-quadratic", "k-linear", "off"])
  .describe("Curve of yield by soil test (docs/methods)");
const share = z.number().min(0).max(1);

export const compareSection = z
  .strictObject({
    placement: z.enum(["broadcast", "subsurface"]).default("broadcast").describe("How product goes on; sets its price"),
    holdOuts: z
      .strictObject({
        files: z
          .array(labFile)
          .min(1)
          .superRefine(sayWhereIdsAre)
          .describe("Their results; a report may hold other bags too"),
        places: placesFile
          .optional()
          .describe("Where they were taken, when the files do not say; not needed for bags of sampling.validation"),
      })
      .optional()
      .describe(
        "Composites taken at random that no strategy was made from: they judge all of them (10 to 16 are enough). Bags of sampling.validation are found in the lab report without it",
      ),
    duplicates: z
      .array(z.tuple([z.string(), z.string()]))
      .default([])
      .describe("Sample ids of two bags of the same ground each: they tell how far cores and lab scatter"),
    noise: z
      .partialRecord(
        z.enum(["P", "K", "CEC", "OM", "pH"]),
        z.strictObject({
          core: z.number().min(0).describe("Of one core about the mean of its unit"),
          lab: z.number().min(0).describe("Of the lab reading one bag twice"),
        }),
      )
      .default({})
      .describe("How far single cores and the lab scatter, percent of the value (of pH: in pH)"),
    level: z.number().min(0.5).max(0.99).default(0.9).describe("Of the intervals"),
    draws: z.int().min(20).max(10_000).default(400).describe("Sampling days drawn for the intervals"),
    tolerance: rate("tolerance", "30 lb/ac")
      .prefault("30 lb/ac")
      .describe("Product by which a rate must move to count as another rate"),
    curves: z
      .strictObject({P2O5: curve.default("p-quadratic"), K2O: curve.default("k-quadratic")})
      .prefault({})
      .describe('Yield by soil test for what finer sampling pays; "off" counts no yield'),
    bankedShare: share.default(0.75).describe("Share of its price that product beyond the need keeps in the soil"),
    bankedShareAboveLimit: share.default(0).describe("The same where the guide calls for none"),
    otherGuides: z.array(z.string()).default([]).describe("Guides to run on the same results, for comparison"),
    thinTo: z.array(count).default([2, 4]).describe("Times the grid cell that a thinned grid is asked about"),
  })
  .prefault({})
  .describe("How sure the comparison is, and what it is judged by");
