import {crs, lengthM, z} from "./shared.ts";

const takenFile = z.strictObject({
  file: z.string().describe("CSV log, or GPX with waypoints or a track with times"),
  strategy: z
    .enum(["whole-field", "grid", "zone"])
    .optional()
    .describe("Plan the log is of; default: the one whose sample ids it holds"),
  sampleId: z.string().optional().describe("Column that holds the sample id"),
  core: z.string().optional().describe("Column that holds the number of the core within its bag"),
  x: z.string().optional().describe("Longitude or easting, for a CSV"),
  y: z.string().optional().describe("Latitude or northing, for a CSV"),
  time: z.string().optional().describe("Column that holds the time, as in 2026-10-21T14:03:10 or 14:03:10"),
  skipped: z.string().optional().describe("Column that says why a bag was left out; empty where it was not"),
  crs,
});

/** What the crew logged, read after the field work. */
export const takenSection = z
  .strictObject({
    files: z.array(takenFile).min(1).describe("Logs of the crew, a file each"),
    tolerance: lengthM("distance a core may lie from its mark", "15 ft").optional(),
    stopSeconds: z
      .number()
      .positive()
      .default(10)
      .describe("A track without waypoints: a halt of this many seconds is a core"),
  })
  .optional()
  .describe("Where cores were really taken");

export type TakenFile = NonNullable<z.output<typeof takenSection>>["files"][number];
