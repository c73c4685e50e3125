import {areaM2, count, lengthM, z} from "./shared.ts";

export const samplingSection = z
  .strictObject({
    depth: lengthM("sampling depth", "8 in").prefault("8 in"),
    edge: lengthM("distance cores keep from their unit's edge", "30 ft").optional(),
    fieldEdge: lengthM("distance cores keep from the field's edge", "50 ft").optional(),
    wholeField: z
      .strictObject({
        maxArea: areaM2("largest area for one composite", "25 ac").optional(),
        cores: count.optional(),
        rate: z.enum(["one", "per composite"]).default("one"),
      })
      .prefault({}),
    grid: z
      .strictObject({
        cellArea: areaM2("grid cell", "2.5 ac").optional(),
        heading: z.number().min(-360).max(360).optional().describe("Degrees from north; default: the long axis"),
        cores: count.optional(),
        pattern: z.enum(["cell", "point"]).optional(),
        mergeBelow: z.number().min(0).max(1).optional().describe("Share of a cell under which an edge piece is merged"),
      })
      .prefault({}),
    zone: z
      .strictObject({
        maxArea: areaM2("largest area for one composite", "40 ac").optional(),
        cores: count.optional(),
      })
      .prefault({}),
  })
  .prefault({});
