import {areaM2, count, lengthM, z} from "./shared.ts";

export const zonesSection = z
  .strictObject({
    count: z.int().min(1).max(12).default(4),
    minArea: areaM2("smallest zone piece", "2 ac").optional(),
    smoothing: lengthM("smoothing", "15 m").optional(),
    weights: z
      .strictObject({yield: z.number().min(0), soil: z.number().min(0), terrain: z.number().min(0)})
      .partial()
      .default({})
      .describe("Say of each theme; equal by default"),
    restarts: count.default(10),
  })
  .prefault({});
