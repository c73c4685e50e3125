import {lengthM, z} from "./shared.ts";

const task = z
  .strictObject({
    map: z
      .enum(["zones", "grid 1", "grid 2"])
      .optional()
      .describe(
        "Polygons, or cells that name a rate (1) or hold one (2). Default: zones, and grid 2 beyond 252 polygons",
      ),
    cell: lengthM("cell", "10 m").prefault("10 m").describe('Side of a cell of a grid, as in "10 m"'),
    units: z
      .enum(["us", "metric"])
      .default("us")
      .describe("What the terminal shows: lb/ac and gal/ac, or kg/ha and L/ha"),
    edition: z
      .union([z.literal(3), z.literal(4)])
      .default(4)
      .describe("Edition of the format; 3 for older terminals"),
    customer: z.string().min(1).optional().describe("Name of the customer on the terminal"),
    farm: z.string().min(1).optional().describe("Name of the farm on the terminal; default: the job's farm"),
  })
  .prefault({});

export const handOverSection = z
  .strictObject({
    formats: z
      .array(z.enum(["geojson", "shapefile", "geopackage", "iso 11783-10"]))
      .min(1)
      .refine((names) => new Set(names).size === names.length, "each format once.")
      .default(["geojson", "shapefile"])
      .describe("Formats of the rate files; every one is read back and compared"),
    task: task.describe("Task data for terminals (ISO 11783-10)"),
    folder: z
      .boolean()
      .default(false)
      .describe(
        'Also makes a folder "hand-over" with the rate files of one strategy, a sheet for the applicator and checksums',
      ),
    strategy: z
      .enum(["whole-field", "grid", "zone"])
      .optional()
      .describe("The strategy that goes into the folder; needed where the job has several"),
    paper: z.enum(["letter", "a4"]).default("letter").describe("Sheet the applicator's page is printed on"),
  })
  .optional()
  .describe("What leaves the office: formats of the rate files and the folder for the applicator");
