import {crs, lengthM, z} from "./shared.ts";

const analyte = z.strictObject({
  analyte: z.enum(["P", "K", "Ca", "Mg", "S", "Zn", "B", "Mn", "Fe", "Cu", "pH", "buffer pH", "OM", "CEC"]),
  column: z.string(),
  unit: z.string(),
  method: z.string().describe('Extractant and detection, as in "mehlich-3 icp"'),
});

const labFile = z.strictObject({
  file: z.string(),
  sampleId: z.string().optional().describe("Column that holds the sample id; not needed where x and y are given"),
  x: z.string().optional().describe("Longitude or easting, where the file itself says where each sample was taken"),
  y: z.string().optional().describe("Latitude or northing"),
  crs,
  only: z
    .array(z.strictObject({column: z.string(), is: z.string()}))
    .default([])
    .describe("Takes only the rows whose cells read so, as of one field in a report on many"),
  depth: lengthM("sampling depth", "8 in").optional().describe("Default: the depth of the sampling plan"),
  analytes: z.array(analyte).min(1),
  decimal: z.enum([".", ","]).default("."),
});

const placesFile = z.strictObject({
  file: z.string(),
  sampleId: z.string().describe("Column or attribute that holds the sample id"),
  x: z.string().optional().describe("Longitude or easting, for a CSV"),
  y: z.string().optional().describe("Latitude or northing, for a CSV"),
  crs,
});

export const labSection = z
  .strictObject({
    files: z
      .array(labFile)
      .min(1)
      .superRefine((files, context) => {
        for (const [i, file] of files.entries()) {
          if (file.sampleId === undefined && (file.x === undefined || file.y === undefined)) {
            context.addIssue({code: "custom", path: [i], message: "needs a sampleId column, or x and y."});
          }
        }
      }),
    toPpm: z
      .boolean()
      .default(false)
      .describe("Converts lb/ac and meq/100 g to ppm before the guide is read; each conversion is remarked on"),
    places: placesFile
      .optional()
      .describe(
        "Where samples were taken, when they do not follow the plans of this job: results then go to the unit they lie in",
      ),
  })
  .optional();
