import {crs, lengthM, matches, z} from "./shared.ts";

const analyte = z.strictObject({
  analyte: z
    .enum(["P", "K", "Ca", "Mg", "S", "Zn", "B", "Mn", "Fe", "Cu", "pH", "buffer pH", "OM", "CEC"])
    .describe("What was measured; P and K are the elements, never oxides"),
  column: z.string().describe("Heading of its column"),
  unit: z.string().describe('As in "ppm", "lb/ac", "meq/100 g", "%" or "pH"'),
  method: z.string().describe('Extractant and detection, as in "mehlich-3 icp"'),
});

const answer = z.strictObject({
  column: z.string().describe("Heading of the column, or the analyte's word in a file with one row a result"),
  unit: z.string().optional().describe('As in "ppm" or "lb/ac"'),
  method: z.string().optional().describe('Extractant and detection, as in "mehlich-3 icp"'),
  leaveOut: z.boolean().optional().describe("Passes the column over"),
});

export const labFile = z.strictObject({
  file: z.string().describe("A table with one row a sample or one row a result, or a Modus 1 report (XML or JSON)"),
  sampleId: z
    .string()
    .optional()
    .describe("Column that holds the sample id; not needed where x and y are given or a heading says so"),
  x: z.string().optional().describe("Longitude or easting, where the file itself says where each sample was taken"),
  y: z.string().optional().describe("Latitude or northing"),
  crs,
  only: z
    .array(matches)
    .default([])
    .describe("Takes only the rows whose cells read so, as of one field in a report on many"),
  choose: z
    .strictObject({
      field: z.string().optional().describe("Name of the field, as the file writes it"),
      date: z.string().optional().describe("Day, as the file writes it"),
    })
    .default({})
    .describe("Takes one field or day of a file with one row a result, or of a Modus report"),
  depth: lengthM("sampling depth", "8 in")
    .optional()
    .describe("Default: the depth of the sampling plan; not used where the file gives one with its unit"),
  analytes: z
    .array(analyte)
    .min(1)
    .optional()
    .describe("What the columns mean; left out, they are read from the words of their headings"),
  answers: z.array(answer).default([]).describe("Units and methods that the words of the file leave open"),
  decimal: z.enum([".", ","]).optional().describe("Decimal mark; found from the cells where columns are not given"),
});

export const placesFile = z.strictObject({
  file: z.string().describe("A table, or a file of point features"),
  sampleId: z.string().describe("Column or attribute that holds the sample id"),
  x: z.string().optional().describe("Longitude or easting, for a CSV"),
  y: z.string().optional().describe("Latitude or northing, for a CSV"),
  crs,
});

const choice = z.strictObject({
  sampleId: z.string().describe("Sample id, as in the report"),
  analyte: z.string().describe('As in "P"'),
  choice: z
    .enum(["keep", "exclude", "re-run"])
    .describe("Use it as it is, leave it out, or leave it out until the lab has measured it again"),
  reason: z.string().describe("Repeated in the record"),
});

export const labSection = z
  .strictObject({
    files: z.array(labFile).min(1).superRefine(sayWhereIdsAre).describe("Reports of this sampling, a file each"),
    date: z
      .string()
      .optional()
      .describe('Day the samples were taken, as in "2026-04-12" or "2026"; needed for history'),
    plans: z
      .partialRecord(z.enum(["whole-field", "grid", "zone"]), z.string())
      .default({})
      .describe(
        "Marks of the plans the samples were taken by, as printed on the crew's sheets: other plans are refused",
      ),
    toPpm: z
      .boolean()
      .default(false)
      .describe("Converts lb/ac and meq/100 g to ppm before the guide is read; each conversion is remarked on"),
    cec: z
      .enum(["as reported", "sum of cations"])
      .default("as reported")
      .describe("Whether a CEC the lab does not give is worked out from Ca, Mg, K and the buffer pH"),
    places: placesFile
      .optional()
      .describe(
        "Where samples were taken, when they do not follow the plans of this job: results then go to the unit they lie in",
      ),
    accepted: z
      .record(z.string(), z.string())
      .default({})
      .describe('Ids of the report that are planned samples, as in {"MR-G1": "MR-G01"}; never guessed'),
    choices: z.array(choice).default([]).describe("What to do about doubtful results, and why"),
    earlier: z
      .array(labFile.extend({date: z.string().describe('Day of sampling, as in "2022-04-20" or "2022"')}))
      .default([])
      .superRefine(sayWhereIdsAre)
      .describe("Reports of earlier years on the same units, by the same ids or places: the history of each unit"),
  })
  .optional()
  .describe("Results of the laboratory; without them a run ends with the sampling plans");

/** Columns that are named need a name for the ids, or places. */
export function sayWhereIdsAre(
  files: readonly z.output<typeof labFile>[],
  context: {addIssue(issue: {code: "custom"; path: number[]; message: string}): void},
): void {
  for (const [i, {analytes, sampleId, x, y}] of files.entries()) {
    if (analytes && sampleId === undefined && (x === undefined || y === undefined)) {
      context.addIssue({code: "custom", path: [i], message: "needs a sampleId column, or x and y."});
    }
  }
}
