import {parseMassKg} from "../../units/parse.ts";
import {column, crs, lengthM, quantity, rate, z} from "./shared.ts";

const columns = z
  .strictObject({
    x: z.string().optional().describe("Longitude or easting; not needed for shapes"),
    y: z.string().optional().describe("Latitude or northing; not needed for shapes"),
    rate: column
      .optional()
      .describe("Rate put out: lb/ac, kg/ha, ton/ac, t/ha, gal/ac or L/ha, as the heading says or as named here"),
    mass: column.optional().describe("Product put out in each record, where no rate is logged"),
    time: column.optional().describe("Seconds, or a date and time, or a time of day"),
    swath: column.optional().describe("Width spread"),
    distance: column.optional().describe("Driven since the record before"),
    state: z.string().optional().describe("Whether the machine worked: on and off, 1 and 0, up and down"),
    pass: z.string().optional().describe("Number of the pass, where one is logged"),
    machine: z.string().optional().describe("Which machine, where several worked"),
  })
  .describe("Default: told by their headings");

const planFile = z.strictObject({
  file: z.string().describe("A rate file from anywhere: shapefile, GeoJSON, GeoPackage, task data"),
  layer: z.string().optional().describe("Which layer of a file with several"),
  crs,
  rate: column.describe("Column of planned rates of product"),
  id: z.string().optional().describe("Column that names each polygon; default: UNIT where there is one"),
  elsewhere: rate("rate planned outside the polygons", "0 lb/ac").prefault("0 lb/ac"),
});

/** What machines logged, compared with what was prescribed, after the spreading. */
export const asAppliedSection = z
  .array(
    z.strictObject({
      files: z
        .array(z.string())
        .min(1)
        .describe(
          "Logs of one product on this field: CSV, shapefile, GeoJSON, GeoPackage, or ISO 11783-10 task data (its zip or TASKDATA.XML)",
        ),
      layer: z.string().optional().describe("Which layer of a file with several; of task data the task"),
      crs,
      columns: columns.optional(),
      element: z.string().optional().describe("Task data: the part of the machine that put this product out"),
      product: z
        .string()
        .optional()
        .describe('Which of the job\'s products, as in "0-0-60"; needed where it has several'),
      plan: z
        .union([z.enum(["whole-field", "grid", "zone"]), planFile])
        .optional()
        .describe("The strategy that was spread, or a rate file; default: the job's only strategy"),
      swath: lengthM("swath", "60 ft").optional().describe('Width spread, where the log has none, as in "60 ft"'),
      lbPerGallon: z.number().positive().optional().describe("Weight of a fluid; default: the product's own"),
      ticket: quantity(parseMassKg, "weight on the ticket", "41200 lb")
        .optional()
        .describe('What was weighed out for the field, as in "41200 lb" or "18.7 t"'),
      tolerancePct: z
        .number()
        .min(0)
        .max(100)
        .default(10)
        .describe("A rate further than this from the planned one is off, percent of the planned rate"),
      cell: lengthM("cell", "0.5 m")
        .optional()
        .describe('Cells of the picture of covered ground, as in "0.5 m", which is the default'),
    }),
  )
  .default([])
  .describe("Logs of the spreading, for `loamwright as-applied`; a run does not read them");

export type AppliedFiles = z.output<typeof asAppliedSection>[number];
